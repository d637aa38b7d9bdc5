// Hand on: what was chosen, as lines for the map.
const handing = (() => {
  const LONGEST_NAME = 80;
  const field = () => dom.byId("hand-name");

  function wrong(name) {
    if (!name.trim()) return "Write a name for the version.";
    if (name.length > LONGEST_NAME) return `Write at most ${LONGEST_NAME} characters.`;
    if (name.includes("/")) return "Leave out the slash: in a map it divides reel and shot.";
    return "";
  }

  function entry(part, name, said, speed) {
    const runtime = part === "film" ? notation.runtime(data.frames, speed) : "";
    const drops = dom.button("Remove", () => {
      choosing.drop(part, name);
      dom.byId("hand-heading").focus();
    });
    drops.setAttribute("aria-label", `Remove the choice for ${said}`);
    return dom.make(
      "tr", {},
      dom.make("th", { scope: "row" }, dom.name(said)),
      dom.make("td", {}, fractions.told(speed)),
      dom.make("td", { class: "number" }, runtime),
      dom.make("td", {}, drops),
    );
  }

  function rows() {
    const { film, reels, shots } = choosing.chosen;
    return [
      ...(film ? [entry("film", "", "the whole film", film)] : []),
      ...[...reels].map(([name, speed]) => entry("reels", name, `reel ${name}`, speed)),
      ...[...shots].map(([name, speed]) => entry("shots", name, `shot ${name}`, speed)),
    ];
  }

  function note(name) {
    const said = [];
    if (data.versions.some((one) => one.name === name)) {
      said.push("The map has a version of this name: these lines are to take its place.");
    }
    if (!choosing.chosen.film) {
      said.push(`Nothing is chosen for the whole film yet: ${fractions.told(choosing.ground())} is put there, as a version needs a speed for all of it.`);
    }
    return said.join(" ");
  }

  function show() {
    const some = choosing.some();
    const name = field().value;
    const said = wrong(name);
    dom.byId("hand-rows").replaceChildren(...rows());
    dom.byId("hand-none").hidden = some;
    dom.byId("hand-some").hidden = !some;
    field().setAttribute("aria-invalid", String(Boolean(said)));
    dom.write(dom.byId("hand-wrong"), said);
    for (const id of ["hand-copy", "hand-save"]) dom.byId(id).disabled = Boolean(said);
    dom.write(dom.byId("hand-note"), some ? note(name) : "");
    dom.byId("hand-text").value = some && !said ? choosing.lines(name.trim()) : "";
  }

  function begin() {
    field().addEventListener("input", show);
    dom.byId("hand-copy").addEventListener("click", () => dom.copy(dom.byId("hand-text")));
    dom.byId("hand-save").addEventListener("click", () => {
      dom.save(`${papers.stem()}-version.yaml`, dom.byId("hand-text").value);
    });
    keys.set("hand", []);
    choosing.whenChanged(show);
    show();
  }

  return { begin };
})();
