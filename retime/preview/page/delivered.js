// As delivered: a really rendered excerpt, with the cadence strip of the film frames in it.
const delivered = (() => {
  const METHODS = { repeat: "frames repeated", blend: "frames blended" };
  const FIELDS = [
    { id: "made-version", of: (one) => one.version ?? "", said: (one) => versionSaid(one) },
    { id: "made-speed", of: (one) => speedSaid(one), said: (one) => speedSaid(one) },
    { id: "made-rate", of: (one) => one.rate, said: (one) => rateSaid(one.rate) },
    { id: "made-method", of: (one) => one.method, said: (one) => METHODS[one.method] ?? one.method },
  ];
  const MOST_SHOWN = 24;
  let lane = null;
  let now = null; // the one that is shown
  let at = 0; // its output frame on screen
  let sought = null; // the one that is asked for and not yet presented

  const video = () => dom.byId("made-video");
  const rate = () => fractions.value(fractions.read(now.rate));
  const here = () => data.delivered.filter((one) => one.excerpt === excerpt.current().key);

  function versionSaid(one) {
    return one.version ?? "one speed throughout";
  }

  const rateSaid = (text) => fractions.told(fractions.read(text));

  function speedSaid({ speed, speeds }) {
    if (speed) return rateSaid(speed);
    return speeds ? `${rateSaid(speeds.from)} → ${rateSaid(speeds.to)}` : "a changing speed";
  }

  // Each field offers what there is with what stands in those before it.
  function fill() {
    let left = here();
    for (const field of FIELDS) {
      const select = dom.byId(field.id);
      const before = select.value;
      const options = new Map(left.map((one) => [field.of(one), field.said(one)]));
      select.replaceChildren(
        ...[...options].map(([value, said]) => dom.make("option", { value }, said)),
      );
      if (options.has(before)) select.value = before;
      left = left.filter((one) => field.of(one) === select.value);
    }
    return left[0] ?? null;
  }

  function choose() {
    pause();
    now = fill();
    dom.byId("made-none").hidden = Boolean(now);
    dom.byId("made-some").hidden = !now;
    if (!now) return;
    const one = excerpt.current();
    sought = null;
    lane.load(strip.looksOf(now), (k) => excerpt.number(one, k), seek);
    dom.write(dom.byId("made-cadence"), cadence());
    dom.byId("made-legend-mixed").hidden = !now.mixes;
    video().src = now.file.split("/").map(encodeURIComponent).join("/");
    video().width = excerpt.current().width;
    video().height = excerpt.current().height;
    show(0);
  }

  // The runs of output frames as they come, where no cadence is said.
  function runs() {
    const found = now.shows.map(([, times]) => times);
    return found.slice(0, MOST_SHOWN).join(":") + (found.length > MOST_SHOWN ? ":…" : "");
  }

  function cadence() {
    const said = [`${speedSaid(now)} at ${rateSaid(now.rate)}: ${METHODS[now.method] ?? now.method}.`];
    if (now.cadence) said.push(`The cadence is ${now.cadence}: so many output frames to each film frame in turn.`);
    else if (now.shows) said.push(`Output frames to each film frame, from the first: ${runs()}.`);
    if (now.nearest) said.push(`That is nearly the cadence ${now.nearest}.`);
    if ((now.run_change ?? "1") !== "1") said.push(`It is laid out evenly and runs ${now.run_change} times as fast.`);
    if (now.deliverable) said.push(`In the map: ${now.deliverable}.`);
    return said.join(" ");
  }

  function show(frame) {
    at = Math.min(Math.max(frame, 0), lane.looks.length - 1);
    lane.show(at);
    dom.write(dom.byId("made-now"), lane.told(at));
  }

  // A frame of the movie is asked for in its middle, where rounding cannot miss it.
  function seek(frame) {
    pause();
    sought = Math.min(Math.max(frame, 0), lane.looks.length - 1);
    video().currentTime = (sought + 0.5) / rate();
    show(sought);
  }

  const pause = () => video().pause();
  const step = (by) => seek(at + by);

  function toggle() {
    if (!video().paused) pause();
    else video().play().catch(() => dom.say("This movie cannot be played here."));
  }

  function loop() {
    video().loop = !video().loop;
    dom.press(dom.byId("made-loop"), video().loop);
  }

  // Of several steps in a row the browser presents some on the way to the last.
  function seen(time) {
    if (!now) return;
    const frame = Math.floor(time * rate() + 0.01);
    if (sought !== null && frame !== sought && video().paused) return;
    sought = null;
    show(frame);
  }

  // The frame that is really presented where the browser tells it, the movie's time elsewhere.
  function follow() {
    const movie = video();
    if (movie.requestVideoFrameCallback) {
      const each = (_, presented) => {
        seen(presented.mediaTime);
        movie.requestVideoFrameCallback(each);
      };
      movie.requestVideoFrameCallback(each);
      return;
    }
    const tick = () => seen(movie.currentTime);
    movie.addEventListener("play", () => beat.add(tick));
    movie.addEventListener("pause", () => beat.remove(tick));
  }

  function wire() {
    const on = (id, does, type = "click") => dom.byId(id).addEventListener(type, does);
    for (const field of FIELDS) on(field.id, choose, "change");
    on("made-play", toggle);
    on("made-back", () => step(-1));
    on("made-on", () => step(1));
    on("made-first", () => seek(0));
    on("made-loop", loop);
    for (const kind of ["play", "pause", "ended"]) {
      on("made-video", () => dom.write(dom.byId("made-play"), video().paused ? "Play" : "Pause"), kind);
    }
    on("made-video", () => dom.say("This movie cannot be read."), "error");
  }

  // The strip's text tells what it shows once a movie rests, not with every frame.
  function begin() {
    lane = new strip.Strip(dom.byId("made-strip"));
    wire();
    follow();
    keys.set("delivered", [
      { key: " ", said: "play or pause", does: toggle },
      { key: "ArrowLeft", said: "an output frame back", does: () => step(-1) },
      { key: "ArrowRight", said: "an output frame on", does: () => step(1) },
      { key: "Home", said: "the first output frame", does: () => seek(0) },
      { key: "End", said: "the last output frame", does: () => seek(lane.looks.length - 1) },
      { key: "l", said: "loop on or off", does: loop },
      ...excerpt.moves,
    ]);
    excerpt.whenChosen(() => tabs.current() === "delivered" && choose());
    tabs.when("delivered", { enter: choose, leave: pause });
  }

  return { begin };
})();
