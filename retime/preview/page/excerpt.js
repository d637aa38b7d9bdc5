// The excerpt that all ways of looking look at, and its pictures.
const excerpt = (() => {
  const told = [];
  let roll = null;

  const current = () => roll.excerpt;

  // A film frame's number in the scan. In a transfer not every frame of the scan is a film frame.
  const number = (one, k) => (one.numbers ? one.numbers[k] : one.first + k);

  function label(one) {
    const said = one.name ? `${one.title}: ${one.name}` : one.title;
    return one.kind === "title" ? `${said} (title)` : said;
  }

  function choose(at) {
    const one = data.excerpts[at];
    roll?.close();
    roll = new pictures.Roll(one);
    dom.byId("excerpt").selectedIndex = at;
    const last = number(one, one.frames - 1);
    const why = one.why ? ` Chosen: ${one.why}.` : "";
    dom.write(
      dom.byId("excerpt-facts"),
      `${one.frames} film frames, ${one.first} to ${last} of the scan of reel ${one.reel}.${why}`,
    );
    for (const each of told) each(roll);
  }

  function turn(by) {
    const count = data.excerpts.length;
    choose((dom.byId("excerpt").selectedIndex + by + count) % count);
    dom.say(label(current()));
  }

  function begin() {
    const select = dom.byId("excerpt");
    data.excerpts.forEach((one, at) => select.append(dom.make("option", { value: at }, label(one))));
    select.addEventListener("change", () => choose(select.selectedIndex));
    choose(0);
  }

  // Two keys that every way of looking has.
  const moves = [
    { key: "e", said: "next excerpt", does: () => turn(1) },
    { key: "e", shift: true, said: "excerpt before", does: () => turn(-1) },
  ];

  return { current, roll: () => roll, label, number, whenChosen: (each) => told.push(each), begin, moves };
})();
