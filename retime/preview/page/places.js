// The map's versions, as marked and labelled places along the slider of speeds.
const places = (() => {
  const GAP = 8; // pixels between two labels of a row
  const THUMB = 1.5; // rem: the slider's thumb, which stops half its width before either end

  // What each version does with an excerpt: {name, from, to}, one speed where both are the same.
  function of(one) {
    return Object.entries(one.speeds ?? {}).map(([name, said]) => {
      const [from, to] = typeof said === "string" ? [said, said] : [said.from, said.to];
      return { name, from: fractions.read(from), to: fractions.read(to) };
    });
  }

  const steady = (place) => fractions.same(place.from, place.to);

  function said(place) {
    if (steady(place)) return fractions.exact(place.from);
    return `${fractions.exact(place.from)} → ${fractions.exact(place.to)}`;
  }

  function label(place, chose) {
    const words = [dom.make("span", { class: "who" }, dom.name(place.name)), ` ${said(place)}`];
    const ends = [place.from, place.to].map(fractions.value);
    const made = dom.make("button", { type: "button", class: "place" }, ...words);
    made.title = `${place.name}: ${said(place)} fps${steady(place) ? "" : ", a ramp; its first speed is set"}`;
    made.addEventListener("click", () => chose(place.from));
    return { made, middle: ends[0], low: Math.min(...ends), high: Math.max(...ends) };
  }

  // Labels side by side where there is room, in rows below one another where there is not.
  function lay(box, labels, low, high) {
    const width = box.clientWidth;
    if (!width) return;
    const thumb = THUMB * dom.rem();
    const across = (fps) => thumb / 2 + ((fps - low) / (high - low)) * (width - thumb);
    const ends = []; // where each row is taken up to
    for (const one of labels) {
      const at = across(one.middle);
      const wide = one.made.offsetWidth;
      const left = Math.min(Math.max(at - wide / 2, 0), Math.max(width - wide, 0));
      let row = ends.findIndex((end) => end + GAP <= left);
      if (row < 0) row = ends.length;
      ends[row] = left + wide;
      one.made.style.left = `${left}px`;
      one.made.style.top = `${row * 2 + 0.7}rem`;
      one.line.style.left = `${at}px`;
      one.line.style.height = `${row * 2 + 0.8}rem`;
      one.reach.style.left = `${across(one.low)}px`;
      one.reach.style.width = `${across(one.high) - across(one.low)}px`;
    }
    box.style.height = `${ends.length * 2 + 0.9}rem`;
  }

  function show(box, one, low, high, chose) {
    const found = of(one).filter((place) => {
      const fps = fractions.value(place.from);
      return fps >= low && fps <= high;
    });
    const labels = found
      .map((place) => label(place, chose))
      .sort((a, b) => a.middle - b.middle);
    box.replaceChildren();
    for (const each of labels) {
      each.line = dom.make("span", { class: "stem", "aria-hidden": "true" });
      each.reach = dom.make("span", { class: "reach", "aria-hidden": "true" });
      box.append(each.reach, each.line, each.made);
    }
    box.hidden = !labels.length;
    lay(box, labels, low, high);
    return () => lay(box, labels, low, high);
  }

  return { of, said, steady, show };
})();
