// The ways of looking: one is open, and what plays in another stops.
const tabs = (() => {
  const opened = new Map(); // what a tab does when it is opened and when it is left
  let open = "watch";

  const all = () => [...document.querySelectorAll("[role=tab]")];
  const nameOf = (tab) => tab.id.replace("tab-", "");

  function show(name) {
    if (name !== open) opened.get(open)?.leave?.();
    open = name;
    dom.hush();
    for (const tab of all()) {
      const here = nameOf(tab) === name;
      tab.setAttribute("aria-selected", String(here));
      tab.tabIndex = here ? 0 : -1;
      dom.byId(`panel-${nameOf(tab)}`).hidden = !here;
    }
    keys.show(name);
    opened.get(name)?.enter?.();
  }

  function moved(event) {
    const here = all().indexOf(event.target);
    const count = all().length;
    const to = { ArrowLeft: here - 1, ArrowRight: here + 1, Home: 0, End: count - 1 }[event.key];
    if (here < 0 || to === undefined) return;
    event.preventDefault();
    const next = all()[(to + count) % count];
    next.focus();
    show(nameOf(next));
  }

  function begin() {
    for (const tab of all()) tab.addEventListener("click", () => show(nameOf(tab)));
    document.querySelector("[role=tablist]").addEventListener("keydown", moved);
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) opened.get(open)?.leave?.();
    });
    show(open);
  }

  return { current: () => open, when: (name, does) => opened.set(name, does), show, begin };
})();
