// A blind comparison written down for `retime weigh`: an item of an evidence file, and such a file.
const viewing = (() => {
  const { sum, everyTwo } = lists;

  const LONGEST_ID = 40;
  const LONGEST_TITLE = 200;
  const LONGEST_TEXT = 2000;
  const LONGEST_NAME = 100; // bytes
  const FINEST = 0.5; // fps: finer nobody is taken to tell speeds apart
  const SLOWEST = 12;
  const FASTEST = 30;
  const TENTHS = 1000; // of a percent in a whole

  const numberOf = (speed) => {
    const [above, under] = String(speed).split("/").map(Number);
    return above / (under || 1);
  };

  const quoted = (text) => yaml.quoted(yaml.line(String(text), LONGEST_TEXT));

  // A name for an item, as evidence files take it.
  function nameOf(text) {
    const words = String(text).toLowerCase().replace(/[^a-z0-9]+/g, "-");
    return words.slice(0, LONGEST_ID).replace(/^-+|-+$/g, "") || "viewing";
  }

  // Shares in percent with a decimal whose sum is 100: the largest remainders are rounded up.
  function percentages(shares) {
    const tenths = shares.map((share) => Math.floor(share * TENTHS + 1e-9));
    const rest = shares.map((share, i) => share * TENTHS - tenths[i]);
    const first = shares.map((_, i) => i).sort((a, b) => rest[b] - rest[a] || a - b);
    for (const i of first.slice(0, TENTHS - sum(tenths))) tenths[i] += 1;
    return tenths.map((tenth) => `${(tenth / 10).toFixed(1)} %`);
  }

  // Within what a comparison holds: half the widest step between two speeds, for nothing between
  // them was seen. Never so much that the reader would call it nothing.
  function tolerance(speeds) {
    const numbers = speeds.map(numberOf).sort((a, b) => a - b);
    const steps = numbers.slice(1).map((one, i) => one - numbers[i]);
    const half = Math.max(FINEST, Math.max(0, ...steps) / 2);
    return Math.min(half, numbers[0] / 2).toFixed(2).replace(/\.?0+$/, "");
  }

  const figure = (value, places) => value.toFixed(places).replace(/^-(0(\.0*)?)$/, "$1");
  const counted = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

  // A screen's refresh rate, and what else is told of it: of "60.0 Hz: steady", what comes after.
  function screenOf(told) {
    if (!told) return ["", ""];
    if (typeof told === "number") return [`${told.toFixed(2)} Hz`, ""];
    const [rate, ...rest] = told.split(":");
    return [rate.trim(), rest.join(":").trim()];
  }

  // What a reader has to know of the votes, in sentences.
  function noteOf(fitted, speeds, votes, watched) {
    const { scale, consistency, undecided, sides } = fitted;
    const strengths = scale.map(
      (one) => `${one.speed} fps ${figure(one.strength, 2)} ± ${figure(one.error, 2)}`,
    );
    const told = [
      `${counted(undecided.of, "vote")}, of which ${undecided.count} could not tell`,
      `Bradley-Terry strengths and standard errors: ${strengths.join(", ")}`,
    ];
    if (consistency) {
      const { circular, possible, rounds, coefficient, p } = consistency;
      told.push(
        `${figure(circular, 2)} circular triads of ${possible} possible in ` +
          `${counted(rounds, "complete round")}, coefficient of consistence ` +
          figure(coefficient, 2) +
          (p === null ? "" : `, as few by tossing with a probability of ${figure(p, 3)}`),
      );
    }
    told.push(`left ${sides.left}, right ${sides.right}, p = ${figure(sides.p, 3)}`);
    if (watched) told.push(`on the screen ${watched}`);
    told.push(`votes for the first, the second, neither: ${tallies(speeds, votes).join("; ")}`);
    return `${told.join(". ")}.`;
  }

  // How every two speeds were voted, those that met.
  function tallies(speeds, votes) {
    return everyTwo(speeds.length).flatMap(([i, j]) => {
      const [a, b] = [speeds[i], speeds[j]];
      const met = votes.filter(({ left, right }) => [left, right].sort().join() === [a, b].sort().join());
      const count = (who) => met.filter((vote) => vote[vote.said] === who).length;
      const counts = [a, b, undefined].map(count); // "neither" names none of the two
      return met.length ? [`${a} and ${b} ${counts.join("-")}`] : [];
    });
  }

  const COMMENTS = 34; // the column in which they begin

  const line = (key, value, comment) => {
    const written = `${key.startsWith("- ") ? "  " : "    "}${key}: ${value}`;
    return comment ? `${written.padEnd(COMMENTS)} # ${comment}` : written;
  };

  // The item: {film, excerpt, speeds, votes, fit, screen, date, id}. `excerpt` is what was looked at
  // and `date` when, both texts; `screen` is its refresh rate, a number in Hz or a text such as
  // "60 Hz" or "60 Hz: 20 fps even", or null; `id` may be any text. Two spaces in, a line each, with
  // comments.
  function item({ film, excerpt, speeds, votes, fit: fitted, screen, date, id }) {
    const shares = percentages(fitted.shares).map((share, i) => `${speeds[i]} fps: ${share}`);
    const seen = [film, excerpt, date].filter(Boolean).map((one) => yaml.line(one, LONGEST_TITLE));
    const [rate, watched] = screenOf(screen);
    const source = `Blind comparison of pairs: ${seen.join(", ")}`;
    return [
      line("- id", nameOf(id || `viewing ${date}`)),
      line("kind", "viewing"),
      line("shares", `{${shares.join(", ")}}`, "how probably each is the most preferred"),
      line("within", `${tolerance(speeds)} fps`, "half a step: nothing between them was seen"),
      ...(rate ? [line("screen", quoted(rate))] : []),
      line("trust", "0.5", "yours to set: how far you trust this, 0 to 1"),
      line("about", "looking"),
      line("source", quoted(source)),
      line("note", quoted(noteOf(fitted, speeds, votes, watched))),
      "",
    ].join("\n");
  }

  // A film's title as evidence files take it: it may become part of the name of a file.
  function titleOf(film) {
    const bare = yaml.line(film, LONGEST_TITLE).replace(/[/\\]/g, "-").replace(/\.{2,}/g, ".");
    const letters = Array.from(bare.replace(/^[.\s]+/, ""));
    const long = (list) => new TextEncoder().encode(list.join("")).length > LONGEST_NAME;
    while (long(letters)) letters.pop();
    return letters.join("").trim() || "film";
  }

  // A whole evidence file: {film, gauge, frames, speeds, items}. `frames` are those of the whole
  // print, `speeds` become its candidates (those from 12 to 30, which are all that is weighed),
  // `items` are texts as `item` returns them.
  function file({ film, gauge, frames, speeds, items }) {
    const weighed = speeds.filter((one) => numberOf(one) >= SLOWEST && numberOf(one) <= FASTEST);
    return [
      "format: retime-evidence/1",
      `film: ${yaml.quoted(titleOf(film))}`,
      `gauge: ${gauge}`,
      `length: ${frames} frames`,
      `candidates: [${weighed.map((speed) => `${speed} fps`).join(", ")}]`,
      "",
      "evidence:",
      ...items,
    ].join("\n");
  }

  return Object.freeze({ item, file });
})();
