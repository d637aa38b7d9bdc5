// Watch: one excerpt at any speed.
const watch = (() => {
  const TENTH = fractions.make(1, 10);
  const ONE = fractions.make(1);
  let seen = null; // the player
  let low = 8;
  let high = 32;
  let again = () => {}; // lays the places once more
  let hz = null;
  let starting = 0;

  const speed = () => seen.clock.speed;
  const frame = () => excerpt.number(excerpt.current(), seen.frame);

  function range() {
    const all = [...data.speeds.map(fractions.read), ...data.excerpts.flatMap(places.of).flatMap((one) => [one.from, one.to])];
    const sizes = all.map(fractions.value);
    low = Math.max(1, Math.min(low, Math.floor(Math.min(...sizes)) - 2));
    high = Math.min(120, Math.max(high, Math.ceil(Math.max(...sizes)) + 2));
  }

  function turn(next) {
    seen.turn(next);
    showSpeed();
  }

  // By a tenth or by one, to the next that is whole in tenths or ones, within the slider.
  function nudge(step, up) {
    const now = fractions.value(speed()) / fractions.value(step);
    const to = up ? Math.floor(now + 1 + 1e-9) : Math.ceil(now - 1 - 1e-9);
    const num = Math.min(Math.max(to, Math.ceil(low / fractions.value(step))), Math.floor(high / fractions.value(step)));
    turn(fractions.make(num * step.num, step.den));
  }

  function showSpeed() {
    const now = speed();
    const slider = dom.byId("watch-speed");
    slider.value = String(fractions.value(now));
    slider.setAttribute("aria-valuetext", fractions.told(now));
    dom.write(dom.byId("watch-fps"), fractions.told(now));
    dom.write(dom.byId("watch-feet"), `${fractions.feetPerMinute(now)} ft/min`);
    dom.write(dom.byId("watch-runtime"), notation.runtime(data.frames, now));
    dom.write(dom.byId("watch-screen"), hz ? refresh.cadence(now, hz).told : "being measured");
    for (const one of dom.byId("watch-candidates").children) {
      dom.press(one, fractions.same(one.speed, now));
    }
  }

  function showFrame() {
    const slider = dom.byId("watch-place");
    slider.value = String(seen.frame);
    slider.setAttribute("aria-valuetext", `film frame ${frame()}`);
    dom.write(dom.byId("watch-frame"), String(frame()));
    dom.write(dom.byId("watch-length"), notation.feet(excerpt.current().place + seen.frame));
    dom.write(dom.byId("watch-from"), "from the reel's first frame of picture");
    dom.write(dom.byId("watch-account"), player.account([seen]));
  }

  function showPlay() {
    dom.write(dom.byId("watch-play"), seen.running || starting ? "Pause" : "Play");
  }

  function tick(now) {
    seen.tick(now);
    if (!seen.running) stop();
  }

  async function play() {
    const start = (starting = performance.now());
    showPlay();
    if (!seen.loop && seen.frame === seen.roll.count - 1) seen.seek(0);
    await seen.roll.ready(seen.frame);
    if (starting !== start) return;
    starting = 0;
    seen.start();
    beat.add(tick);
    showPlay();
  }

  function stop() {
    starting = 0;
    beat.remove(tick);
    seen.stop();
    showPlay();
  }

  const toggle = () => (seen.running || starting ? stop() : play());

  function step(by) {
    stop();
    seen.step(by);
  }

  function seek(to) {
    stop();
    seen.seek(to);
  }

  function loop() {
    seen.loop = !seen.loop;
    dom.press(dom.byId("watch-loop"), seen.loop);
  }

  function mark() {
    const put = marks.put(excerpt.current(), seen.frame);
    dom.say(put ? `Frame ${frame()} is marked.` : `Frame ${frame()} is marked already.`);
  }

  function typed(event) {
    event.preventDefault();
    const field = dom.byId("watch-typed");
    const found = fractions.typed(field.value);
    field.setAttribute("aria-invalid", String(Boolean(found.wrong)));
    dom.write(dom.byId("watch-wrong"), found.wrong ?? "");
    if (found.speed) turn(found.speed);
  }

  function chosen(roll) {
    stop();
    seen.load(roll);
    dom.byId("watch-place").max = String(roll.count - 1);
    again = places.show(dom.byId("watch-places"), roll.excerpt, low, high, turn);
    showChoices(roll.excerpt);
    showSpeed();
    showFrame();
  }

  // Reels, shots and the film take the speed that is watched.
  function hand(part, name, said) {
    choosing.set(part, name, speed());
    dom.say(`${fractions.told(speed())} is chosen for ${said}. See Hand on.`);
  }

  function showChoices(one) {
    const box = dom.byId("watch-choose");
    const buttons = [["film", "", "the whole film"], ["reels", one.reel, `reel ${one.reel}`]];
    if (one.shot) buttons.push(["shots", `${one.reel}/${one.shot}`, `shot ${one.reel}/${one.shot}`]);
    box.replaceChildren(
      ...buttons.map(([part, name, said]) => {
        const made = dom.button("", () => hand(part, name, said));
        made.append(dom.name(said));
        return made;
      }),
    );
  }

  function showVersions() {
    const body = dom.byId("versions-rows");
    for (const one of data.versions) {
      const runtime = notation.time(fractions.value(fractions.read(one.runtime)));
      body.append(
        dom.make(
          "tr", {},
          dom.make("th", { scope: "row" }, dom.name(one.name)),
          dom.make("td", {}, one.said),
          dom.make("td", { class: "number" }, runtime),
        ),
      );
    }
    dom.byId("versions").hidden = !data.versions.length;
  }

  function wire() {
    const on = (id, type, does) => dom.byId(id).addEventListener(type, does);
    on("watch-play", "click", toggle);
    on("watch-back", "click", () => step(-1));
    on("watch-on", "click", () => step(1));
    on("watch-loop", "click", loop);
    on("watch-place", "input", (event) => seek(Number(event.target.value)));
    on("watch-speed", "input", (event) => turn(fractions.make(Math.round(event.target.value * 10), 10)));
    on("watch-form", "submit", typed);
    on("marks-put", "click", mark);
    new ResizeObserver(() => again()).observe(dom.byId("watch-places").parentElement);
  }

  function candidates() {
    for (const said of data.speeds) {
      const candidate = fractions.read(said);
      const made = dom.button(said, () => turn(candidate), { "aria-label": `${said} fps` });
      made.speed = candidate;
      dom.byId("watch-candidates").append(made);
    }
  }

  function bind() {
    const digits = data.speeds.slice(0, 9).map((said, at) => ({
      key: String(at + 1), does: () => turn(fractions.read(said)),
    }));
    Object.assign(digits[0] ?? {}, { shown: `1 … ${digits.length}`, said: "the speeds offered" });
    keys.set("watch", [
      { key: " ", said: "play or pause", does: toggle },
      { key: "ArrowLeft", said: "a film frame back", does: () => step(-1) },
      { key: "ArrowRight", said: "a film frame on", does: () => step(1) },
      { key: "Home", said: "the first film frame", does: () => seek(0) },
      { key: "End", said: "the last film frame", does: () => seek(seen.roll.count - 1) },
      { key: "ArrowUp", said: "faster by 1 fps", does: () => nudge(ONE, true) },
      { key: "ArrowDown", said: "slower by 1 fps", does: () => nudge(ONE, false) },
      { key: "ArrowUp", shift: true, said: "faster by 0.1 fps", does: () => nudge(TENTH, true) },
      { key: "ArrowDown", shift: true, said: "slower by 0.1 fps", does: () => nudge(TENTH, false) },
      ...digits,
      { key: "l", said: "loop on or off", does: loop },
      { key: "m", said: "mark the film frame on screen", does: mark },
      { key: "t", said: "type a speed", does: () => dom.byId("watch-typed").focus() },
      ...excerpt.moves,
    ]);
  }

  function begin() {
    range();
    const middle = data.speeds[data.speeds.length >> 1] ?? "20";
    seen = new player.Player(dom.byId("watch-picture"), fractions.read(middle), showFrame);
    Object.assign(dom.byId("watch-speed"), { min: low, max: high });
    candidates();
    wire();
    bind();
    showVersions();
    excerpt.whenChosen(chosen);
    tabs.when("watch", { enter: () => again(), leave: stop });
  }

  function measured(rate) {
    hz = rate.hz;
    showSpeed();
  }

  return { begin, measured };
})();
