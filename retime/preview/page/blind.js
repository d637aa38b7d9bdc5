// Blind comparison: two pictures that differ in their speed and in nothing else that can be read.
const blind = (() => {
  const MOST_SPEEDS = 8;
  const sides = {}; // the two players
  let shown = []; // all pairs, those voted on first
  let votes = [];
  let speeds = [];
  let stage = "setup";
  let starting = 0;
  let played = false; // the pair that is shown
  let rate = null;
  let late = 0;
  let day = "";

  const voting = () => stage === "vote";
  const both = () => [sides.left, sides.right];

  function stand(next) {
    stage = next;
    for (const one of ["setup", "vote", "result"]) dom.byId(`blind-${one}`).hidden = one !== stage;
    dom.byId("excerpt").disabled = voting();
  }

  const ticked = () =>
    [...document.querySelectorAll("#blind-speeds input:checked")].map((one) => one.value);
  const rounds = () => Math.floor(Number(dom.byId("blind-rounds").value));

  function pairsIn(count) {
    return (count * (count - 1)) / 2;
  }

  // What is wrong with the choice, "" where nothing is.
  function wrong() {
    const count = ticked().length;
    if (count < 2) return "Choose two speeds at the least.";
    if (count > MOST_SPEEDS) return `Choose ${MOST_SPEEDS} speeds at the most: every two are compared.`;
    if (!(rounds() >= 1 && rounds() <= 50)) return "Write from 1 to 50 rounds.";
    return "";
  }

  function showSetup() {
    const said = wrong();
    dom.write(dom.byId("blind-wrong"), said);
    dom.byId("blind-begin").disabled = Boolean(said);
    const number = said ? 0 : pairsIn(ticked().length) * rounds();
    dom.write(dom.byId("blind-number"), number ? `${notation.count(number, "pair")} to look at.` : "");
    showScreen();
  }

  function showScreen() {
    if (!rate) return;
    const chosen = ticked().map(fractions.read);
    const unsteady = rate.steady < 0.9 ? " It was not steady while it was measured: other work may disturb what you see." : "";
    dom.write(dom.byId("blind-rate"), `This screen refreshes ${rate.hz.toFixed(2)} times a second, as measured here.${unsteady}`);
    dom.byId("blind-cadences").replaceChildren(
      ...chosen.map((speed) =>
        dom.make(
          "tr", {},
          dom.make("th", { scope: "row" }, fractions.told(speed)),
          dom.make("td", {}, refresh.cadence(speed, rate.hz).told),
        ),
      ),
    );
    const warned = chosen.length ? refresh.warning(chosen, rate.hz) : "";
    dom.write(dom.byId("blind-warning"), warned);
    dom.byId("blind-warning").hidden = !warned;
  }

  // 53 bits of the browser's own chance: no order can be foreseen, and each is told by its seed.
  function seed() {
    const [high, low] = crypto.getRandomValues(new Uint32Array(2));
    return (BigInt(high & 0x1fffff) << 32n) | BigInt(low);
  }

  function start() {
    if (wrong()) return;
    speeds = ticked();
    votes = [];
    late = 0;
    day = new Date().toISOString().slice(0, 10);
    shown = pairs.order(speeds, rounds(), seed());
    open();
  }

  function another() {
    shown = [...shown.slice(0, votes.length), ...pairs.order(speeds, 1, seed())];
    open();
  }

  function open() {
    stand("vote");
    for (const one of both()) one.load(excerpt.roll());
    dom.byId("blind-left").focus();
    next();
  }

  function next() {
    if (votes.length >= shown.length) {
      finish();
      return;
    }
    stop();
    played = false;
    const [left, right] = shown[votes.length];
    sides.left.turn(fractions.read(left));
    sides.right.turn(fractions.read(right));
    for (const one of both()) one.seek(0);
    dom.write(dom.byId("blind-progress"), `Pair ${votes.length + 1} of ${shown.length}`);
    if (!dom.still.matches) play();
  }

  async function play() {
    const begun = (starting = performance.now());
    played = true;
    for (const one of both()) one.seek(0);
    await excerpt.roll().all();
    if (starting !== begun || !voting()) return;
    for (const one of both()) one.start();
    beat.add(tick);
  }

  function tick(now) {
    for (const one of both()) one.tick(now);
  }

  function stop() {
    starting = 0;
    beat.remove(tick);
    for (const one of both()) one.stop();
  }

  function vote(said) {
    if (!played) {
      dom.say("Play both before you vote (key A).");
      return;
    }
    const [left, right] = shown[votes.length];
    votes.push({ left, right, said });
    late += both().reduce((sum, one) => sum + one.late + one.passed, 0);
    for (const one of both()) one.late = one.passed = 0;
    next();
  }

  // The second click of a double one would be a vote on a pair that nobody has seen.
  function clicked(event, said) {
    if (event.detail < 2) vote(said);
  }

  function finish() {
    stop();
    if (!votes.length) {
      stand("setup");
      showSetup();
      return;
    }
    stand("result");
    const fitted = pairs.fit(speeds, votes);
    dom.byId("blind-scale").replaceChildren(scale.drawing(fitted));
    dom.byId("blind-rows").replaceChildren(...scale.rows(fitted));
    dom.write(dom.byId("blind-judged"), scale.judged(fitted));
    const warned = rate ? refresh.warning(speeds.map(fractions.read), rate.hz) : "";
    const unfit = late ? `${notation.count(late, "picture")} came late or passed unseen while you looked. ` : "";
    dom.write(dom.byId("blind-doubt"), `${unfit}${warned}`);
    dom.byId("blind-doubt").hidden = !(unfit || warned);
    dom.byId("blind-text").value = text(fitted);
    dom.byId("blind-heading").focus();
  }

  // What the screen did, for whoever weighs the votes later.
  function screenSaid() {
    if (!rate) return null;
    const each = speeds.map((speed) => {
      const { even, shown: runs } = refresh.cadence(fractions.read(speed), rate.hz);
      return `${speed} fps ${runs} ${even ? "even" : "uneven"}`;
    });
    const disturbed = late ? `; ${notation.count(late, "picture")} late or unseen` : "";
    return `${rate.hz.toFixed(2)} Hz: ${each.join(", ")}${disturbed}`;
  }

  function text(fitted) {
    const one = excerpt.current();
    const id = `viewing ${day} ${one.key} ${votes.length}`;
    const told = { film: data.film, excerpt: papers.place(one), speeds, votes, fit: fitted, date: day, id };
    return papers.file([pairs.item({ ...told, screen: screenSaid() })]);
  }

  function wire() {
    const on = (id, does, type = "click") => dom.byId(id).addEventListener(type, does);
    on("blind-form", (event) => { event.preventDefault(); start(); }, "submit");
    on("blind-form", showSetup, "input");
    on("blind-left", (event) => clicked(event, "left"));
    on("blind-right", (event) => clicked(event, "right"));
    on("blind-neither", (event) => clicked(event, "neither"));
    on("blind-again", play);
    on("blind-end", finish);
    on("blind-more", another);
    on("blind-anew", () => { stand("setup"); showSetup(); });
    on("blind-copy", () => dom.copy(dom.byId("blind-text")));
    on("blind-save", () => dom.save(`${papers.stem()}-viewing.yaml`, dom.byId("blind-text").value));
    on("blind-measure", async () => {
      measured(await refresh.measure());
      dom.say(`Measured: ${rate.hz.toFixed(2)} times a second.`);
    });
  }

  function bind() {
    const idle = () => !voting();
    keys.set("blind", [
      { key: "ArrowLeft", said: "left looks natural", does: () => vote("left"), idle, once: true },
      { key: "ArrowRight", said: "right looks natural", does: () => vote("right"), idle, once: true },
      { key: "ArrowDown", said: "cannot tell", does: () => vote("neither"), idle, once: true },
      { key: "a", said: "play both again from the start", does: play, idle },
    ]);
  }

  function boxes() {
    const preset = new Set(data.speeds.slice(0, MOST_SPEEDS));
    for (const said of data.speeds) {
      const box = dom.make("input", { type: "checkbox", value: said, checked: preset.has(said) });
      dom.byId("blind-speeds").append(dom.make("label", { class: "tick" }, box, ` ${said} fps`));
    }
  }

  function measured(found) {
    rate = found;
    showSetup();
  }

  function begin() {
    for (const side of ["left", "right"]) {
      sides[side] = new player.Player(dom.byId(`blind-picture-${side}`), fractions.make(20));
    }
    boxes();
    wire();
    bind();
    stand("setup");
    showSetup();
    excerpt.whenChosen(() => {
      if (stage === "result") stand("setup");
    });
    tabs.when("blind", { leave: stop });
  }

  return { begin, measured };
})();
