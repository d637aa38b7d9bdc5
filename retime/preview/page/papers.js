// What is handed on as a file: marks as an item of evidence, choices as lines of a map.
const papers = (() => {
  const LONGEST_ID = 40;
  const LONGEST_TITLE = 100; // bytes, for it may become part of a file's name
  const [SLOWEST, FASTEST, MOST] = [12, 30, 12]; // candidates, as retime weigh takes them

  function slug(text, longest = LONGEST_ID) {
    const words = text.toLowerCase().replace(/[^a-z0-9]+/g, "-");
    return words.slice(0, longest).replace(/^-+|-+$/g, "");
  }

  const stem = () => slug(data.film) || "film";

  function title() {
    let told = yaml.line(data.film).replace(/[/\\]/g, "-").replace(/\.{2,}/g, ".").replace(/^[.\s]+/, "");
    while (new TextEncoder().encode(told).length > LONGEST_TITLE) told = [...told].slice(0, -1).join("");
    return told.trim() || "film";
  }

  function candidates() {
    const weighed = data.speeds.map(fractions.read).filter((speed) => {
      const fps = fractions.value(speed);
      return fps >= SLOWEST && fps <= FASTEST;
    });
    const said = weighed.slice(0, MOST).map((speed) => `${fractions.exact(speed)} fps`);
    return (said.length ? said : ["20 fps"]).join(", ");
  }

  // A whole file of evidence, of items as texts.
  function file(items) {
    return [
      "format: retime-evidence/1",
      `film: ${yaml.word(title())}`,
      `gauge: ${yaml.word(data.gauge)}`,
      `length: ${data.frames} frames`,
      `candidates: [${candidates()}]`,
      "",
      "evidence:",
      ...items,
    ].join("\n");
  }

  // Where an excerpt is, as a source says it.
  function place(excerpt) {
    const last = excerpt.numbers?.at(-1) ?? excerpt.first + excerpt.frames - 1;
    return `${yaml.line(excerpt.title)}, frames ${excerpt.first} to ${last} of reel ${yaml.line(excerpt.reel, 80)}`;
  }

  // An item of kind motion for one excerpt: marks in rising order, two at the least, as film frames
  // of the excerpt. Where a scan's own numbers leave gaps they are told from the excerpt's first.
  function motion(excerpt, frames, life) {
    const marks = excerpt.numbers ? frames : frames.map((k) => excerpt.first + k);
    const counted = excerpt.numbers ? ", film frames counted from the first of these" : "";
    const source = `${place(excerpt)}; marked by eye on a page made of ${yaml.line(data.source)}${counted}`;
    return [
      `  - id: ${slug(`marks-reel-${excerpt.reel}`, 24)}-${marks[0]}`,
      "    kind: motion",
      `    marks: [${marks.join(", ")}]`,
      `    ${life.key}: ${life.value}`,
      "    trust: 0.8                    # yours to set: how far you trust this, 0 to 1",
      "    about: taking",
      `    source: ${yaml.quoted(source)}`,
      "",
    ].join("\n");
  }

  function block(key, entries) {
    if (!entries.length) return [];
    return [`    ${key}:`, ...entries.map(([name, said]) => `      ${yaml.word(name)}: ${said}`)];
  }

  // A version of a map, indented to stand below its `versions:`.
  function version(name, { film, reels, shots }) {
    const head = data.from_map
      ? `  # To stand below "versions:" in ${yaml.line(data.source)}`
      : '  # To stand below "versions:" in a speed map';
    return [
      head,
      `  ${yaml.word(name)}:`,
      `    speed: ${film}`,
      ...block("reels", reels),
      ...block("shots", shots),
      "",
    ].join("\n");
  }

  return { stem, file, place, motion, version };
})();
