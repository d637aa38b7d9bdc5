// Film frames marked by eye, a list for each excerpt, and the evidence they make.
const marks = (() => {
  const lists = new Map(); // by an excerpt's key: its marked film frames, counted in it

  const of = (one) => {
    if (!lists.has(one.key)) lists.set(one.key, []);
    return lists.get(one.key);
  };

  function put(one, frame) {
    const list = of(one);
    if (list.includes(frame)) return false;
    list.push(frame);
    list.sort((a, b) => a - b);
    show();
    return true;
  }

  function drop(one, frame) {
    const list = of(one);
    list.splice(list.indexOf(frame), 1);
    show();
  }

  // What moves: one of the movements known, or how often somebody knows it to come.
  function life() {
    const select = dom.byId("marks-natural");
    if (select.value) return { key: "natural", value: select.value };
    const often = /^(\d{1,4}(?:\.\d{1,4})?) *\/ *(s|min)$/.exec(dom.byId("marks-often").value.trim());
    if (!often || !Number(often[1])) return null;
    const [, amount, unit] = often;
    return { key: "frequency", value: `${amount} /${unit}`, often: amount / (unit === "min" ? 60 : 1) };
  }

  const often = (known) =>
    known.often ?? data.natural.find((one) => one.name === known.value).often;

  // The middle distance between marks: a first idea only, for weigh reckons with all of them.
  function idea(list, known) {
    const steps = list.slice(1).map((frame, at) => frame - list[at]);
    const middle = [...steps].sort((a, b) => a - b)[steps.length >> 1];
    const fps = Math.round(middle * often(known) * 10) / 10;
    return `Distances: ${steps.join(", ")}. With ${middle} film frames to each, about ${fps} fps; retime weigh reckons it, and how sure it is.`;
  }

  function entry(one, frame) {
    const number = excerpt.number(one, frame);
    const row = dom.make("li", {}, dom.make("span", {}, String(number)));
    const drops = dom.button("Remove", () => {
      drop(one, frame);
      dom.byId("marks-put").focus();
      dom.say(`The mark on frame ${number} is removed.`);
    });
    drops.setAttribute("aria-label", `Remove the mark on frame ${number}`);
    row.append(drops);
    return row;
  }

  function text() {
    const known = life();
    const items = data.excerpts
      .filter((one) => of(one).length > 1)
      .map((one) => papers.motion(one, of(one), known));
    return papers.file(items);
  }

  function show() {
    const one = excerpt.current();
    const list = of(one);
    const known = life();
    const enough = [...lists.values()].some((each) => each.length > 1);
    dom.byId("marks-list").replaceChildren(...list.map((frame) => entry(one, frame)));
    dom.byId("marks-none").hidden = list.length > 0;
    dom.byId("marks-own").hidden = Boolean(dom.byId("marks-natural").value);
    dom.byId("marks-often").setAttribute("aria-invalid", String(!known));
    dom.write(dom.byId("marks-idea"), list.length > 1 && known ? idea(list, known) : "");
    dom.byId("marks-paper").hidden = !(enough && known);
    if (enough && known) dom.byId("marks-text").value = text();
  }

  function begin() {
    const select = dom.byId("marks-natural");
    for (const one of data.natural) {
      select.append(dom.make("option", { value: one.name }, `${one.name}: a ${one.counted} each`));
    }
    select.append(dom.make("option", { value: "" }, "something else, of a known frequency"));
    select.addEventListener("change", show);
    dom.byId("marks-often").addEventListener("input", show);
    dom.byId("marks-copy").addEventListener("click", () => dom.copy(dom.byId("marks-text")));
    dom.byId("marks-save").addEventListener("click", () => {
      dom.save(`${papers.stem()}-marks.yaml`, text());
    });
    excerpt.whenChosen(show);
  }

  return { put, begin };
})();
