// What the keyboard does, ways of looking apart. Keys are left to fields while somebody writes.
const keys = (() => {
  const sets = new Map(); // of each tab: [{key, does, said}]; one that says nothing is told by another
  const SAID = {
    " ": "Space", ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓",
  };
  const MOVES = new Set([
    "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Home", "End", "PageUp", "PageDown",
  ]);
  let on = true;

  const typed = "textarea, select, input:not([type=range], [type=checkbox], [type=radio])";

  // Whether what has the focus takes a key itself.
  function taken(target, key) {
    if (!(target instanceof Element)) return false;
    if (target.closest(typed)) return true;
    if (key === " " || key === "Enter") return Boolean(target.closest("button, a, summary, input"));
    return MOVES.has(key) && Boolean(target.closest("input, [role=tab]"));
  }

  function pressed(event) {
    const { key } = event;
    if (!on || event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    if (taken(event.target, key)) return;
    const wanted = key.length === 1 ? key.toLowerCase() : key;
    const found = (sets.get(tabs.current()) ?? []).find(
      (one) => one.key === wanted && Boolean(one.shift) === (event.shiftKey && wanted !== "?"),
    );
    if (!found || found.idle?.()) return;
    event.preventDefault();
    if (!(event.repeat && found.once)) found.does(); // a key held down is one vote, and many steps
  }

  const said = (one) => one.shown ?? `${one.shift ? "Shift " : ""}${SAID[one.key] ?? (one.key.length === 1 ? one.key.toUpperCase() : one.key)}`;

  // The list at the foot of the page is that of the tab that is open.
  function show(tab) {
    const list = dom.byId("keys-list");
    list.replaceChildren();
    for (const one of (sets.get(tab) ?? []).filter((each) => each.said)) {
      list.append(dom.make("div", {}, dom.make("dt", {}, dom.make("kbd", {}, said(one))), dom.make("dd", {}, one.said)));
    }
    const none = !list.children.length;
    dom.byId("keys-none").hidden = !none;
    list.hidden = none;
  }

  // A button that was clicked with a pointer lets go of the keys; one that was pressed keeps them.
  function clicked(event) {
    if (event.detail) event.target.closest?.("button")?.blur();
  }

  function begin() {
    document.addEventListener("click", clicked);
    document.addEventListener("keydown", pressed);
    dom.byId("keys-on").addEventListener("change", (event) => {
      on = event.target.checked;
      dom.say(on ? "Keys are on." : "Keys are off.");
    });
  }

  return { set: (tab, list) => sets.set(tab, list), show, begin };
})();
