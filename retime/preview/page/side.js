// Side by side: two to four speeds at once, started together, or all at one film frame.
const side = (() => {
  const MOST = 4;
  const panes = [];
  let count = 2;
  let locked = false;
  let starting = 0;

  const shown = () => panes.slice(0, count);
  const leader = () => shown()[Number(dom.byId("side-leader").value)] ?? panes[0];
  const running = () => leader().seen.running;

  function pane(at) {
    const speed = fractions.read(data.speeds[Math.min(at, data.speeds.length - 1)] ?? "20");
    const canvas = dom.make("canvas", { role: "img", "aria-label": `Picture of pane ${at + 1}` });
    const field = dom.make("input", {
      id: `side-speed-${at}`, value: fractions.exact(speed), autocomplete: "off", list: "candidates",
      spellcheck: "false", "aria-describedby": `side-wrong-${at}`,
    });
    const made = {
      field,
      seen: new player.Player(canvas, speed, () => showFrame(made)),
      wrong: dom.make("p", { class: "wrong", id: `side-wrong-${at}` }),
      frame: dom.make("span", { class: "figure", id: `side-frame-${at}` }),
      time: dom.make("span", { class: "figure" }),
      runtime: dom.make("span", { class: "figure" }),
    };
    made.box = dom.make(
      "div", { class: "pane", role: "group", "aria-label": `Pane ${at + 1}` },
      dom.make("div", { class: "picture" }, canvas),
      dom.make(
        "div", { class: "row" },
        dom.make("label", { for: field.id }, `Speed of pane ${at + 1}`), field, "fps",
      ),
      made.wrong,
      dom.make(
        "dl", { class: "facts" },
        dom.make("div", {}, dom.make("dt", {}, "Film frame"), dom.make("dd", {}, made.frame)),
        dom.make("div", {}, dom.make("dt", {}, "On screen after"), dom.make("dd", {}, made.time)),
        dom.make("div", {}, dom.make("dt", {}, "Whole film"), dom.make("dd", {}, made.runtime)),
      ),
    );
    field.addEventListener("change", () => typed(made));
    return made;
  }

  function typed(one) {
    const found = fractions.typed(one.field.value);
    one.field.setAttribute("aria-invalid", String(Boolean(found.wrong)));
    dom.write(one.wrong, found.wrong ?? "");
    if (!found.speed) return;
    one.seen.turn(found.speed);
    together();
  }

  function showFrame(one) {
    const speed = one.seen.clock.speed;
    dom.write(one.frame, String(excerpt.number(excerpt.current(), one.seen.frame)));
    dom.write(one.time, `${((one.seen.frame * speed.den) / speed.num).toFixed(2)} s`);
    dom.write(one.runtime, notation.runtime(data.frames, speed));
  }

  function tick(now) {
    if (locked) {
      const one = leader();
      one.seen.tick(now);
      for (const other of shown()) if (other !== one) follow(other, one);
    } else {
      for (const one of shown()) one.seen.tick(now);
    }
    dom.write(dom.byId("side-account"), player.account(shown().map((one) => one.seen)));
  }

  // A pane that follows is drawn in the same refresh as the one that leads, or with it not at all.
  function follow(other, one) {
    const frame = one.seen.shown ?? one.seen.frame;
    if (other.seen.frame !== frame || other.seen.shown !== frame) other.seen.seek(frame);
  }

  function align() {
    if (locked) for (const one of shown()) follow(one, leader());
  }

  async function play() {
    const start = (starting = performance.now());
    showPlay();
    await excerpt.roll().all();
    if (starting !== start) return;
    starting = 0;
    for (const one of locked ? [leader()] : shown()) one.seen.start();
    beat.add(tick);
    showPlay();
  }

  function stop() {
    starting = 0;
    beat.remove(tick);
    for (const one of panes) one.seen.stop();
    align();
    showPlay();
  }

  const toggle = () => (running() || starting ? stop() : play());

  // All from the first film frame, in the same refresh.
  function together() {
    const plays = running() || Boolean(starting);
    stop();
    for (const one of panes) one.seen.seek(0);
    if (plays) play();
  }

  function step(by) {
    stop();
    if (locked) {
      leader().seen.step(by);
      align();
    } else {
      for (const one of shown()) one.seen.step(by);
    }
  }

  function showPlay() {
    dom.write(dom.byId("side-play"), running() || starting ? "Pause" : "Play");
  }

  function panesOf(number) {
    count = number;
    panes.forEach((one, at) => {
      one.box.hidden = at >= count;
    });
    dom.byId("side-panes").dataset.count = String(count);
    for (const made of dom.byId("side-count").children) dom.press(made, made.number === count);
    const select = dom.byId("side-leader");
    const before = Math.min(Number(select.value), count - 1);
    select.replaceChildren(
      ...shown().map((_, at) => dom.make("option", { value: at }, `pane ${at + 1}`)),
    );
    select.value = String(before);
    together();
  }

  function lock(now) {
    stop();
    locked = now;
    dom.byId(locked ? "side-locked" : "side-timed").checked = true;
    dom.byId("side-leading").hidden = !locked;
    together();
  }

  function wire() {
    const on = (id, does, type = "click") => dom.byId(id).addEventListener(type, does);
    on("side-play", toggle);
    on("side-start", together);
    on("side-back", () => step(-1));
    on("side-on", () => step(1));
    on("side-timed", () => lock(false), "change");
    on("side-locked", () => lock(true), "change");
    on("side-leader", together, "change");
  }

  function bind() {
    keys.set("side", [
      { key: " ", said: "play or pause", does: toggle },
      { key: "ArrowLeft", said: "a film frame back", does: () => step(-1) },
      { key: "ArrowRight", said: "a film frame on", does: () => step(1) },
      { key: "Home", said: "start together", does: together },
      ...[2, 3, 4].map((number) => ({
        key: String(number), shown: "2 … 4", said: number === 2 && "so many panes", does: () => panesOf(number),
      })),
      { key: "k", said: "lock to one film frame, or not", does: () => lock(!locked) },
      ...excerpt.moves,
    ]);
  }

  function begin() {
    for (let at = 0; at < MOST; at += 1) panes.push(pane(at));
    dom.byId("side-panes").append(...panes.map((one) => one.box));
    for (let number = 2; number <= MOST; number += 1) {
      const made = dom.button(String(number), () => panesOf(number), { "aria-label": `${number} panes` });
      made.number = number;
      dom.byId("side-count").append(made);
    }
    dom.byId("candidates").append(...data.speeds.map((one) => dom.make("option", { value: one })));
    wire();
    bind();
    excerpt.whenChosen((roll) => {
      stop();
      for (const one of panes) one.seen.load(roll);
      panesOf(count);
    });
    tabs.when("side", { leave: stop });
  }

  return { begin };
})();
