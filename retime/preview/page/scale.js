// The scale of preference as a drawing: a dot for each speed, a line as long as it is unsure.
const scale = (() => {
  const ROW = 34;
  const LEFT = 90;
  const WIDE = 420;
  const RIGHT = 24;

  const speedSaid = (speed) => fractions.told(fractions.read(speed));
  const signed = (number) => `${number < 0 ? "−" : "+"}${Math.abs(number).toFixed(2)}`;

  function reach(list) {
    return Math.max(1, ...list.map((one) => Math.abs(one.strength) + 2 * one.error)) * 1.05;
  }

  function row(one, at, across) {
    const y = at * ROW + ROW / 2;
    const [low, high] = [one.strength - 2 * one.error, one.strength + 2 * one.error].map(across);
    const end = (x) => dom.draw("line", { x1: x, x2: x, y1: y - 5, y2: y + 5, class: "doubt" });
    return [
      dom.draw("text", { x: LEFT - 14, y: y + 5, "text-anchor": "end" }, `${fractions.short(fractions.read(one.speed))} fps`),
      dom.draw("line", { x1: low, x2: high, y1: y, y2: y, class: "doubt" }),
      end(low),
      end(high),
      dom.draw("circle", { cx: across(one.strength), cy: y, r: 6, class: "dot" }),
    ];
  }

  function drawing(fitted) {
    const list = fitted.scale;
    const most = reach(list);
    const across = (strength) => LEFT + ((strength + most) / (2 * most)) * (WIDE - LEFT - RIGHT);
    const high = list.length * ROW + 28;
    const best = [...list].sort((a, b) => b.strength - a.strength)[0];
    return dom.draw(
      "svg",
      { viewBox: `0 0 ${WIDE} ${high}`, role: "img", "aria-label": `Scale of preference: ${speedSaid(best.speed)} stands highest; the table tells all of it` },
      dom.draw("line", { x1: across(0), x2: across(0), y1: 0, y2: high - 26, class: "middle" }),
      ...list.flatMap((one, at) => row(one, at, across)),
      dom.draw("text", { x: LEFT, y: high - 6, class: "under" }, "less natural"),
      dom.draw("text", { x: WIDE - RIGHT, y: high - 6, class: "under", "text-anchor": "end" }, "more natural"),
    );
  }

  function rows(fitted) {
    return fitted.scale.map((one, at) =>
      dom.make(
        "tr", {},
        dom.make("th", { scope: "row" }, speedSaid(one.speed)),
        dom.make("td", { class: "number" }, signed(one.strength)),
        dom.make("td", { class: "number" }, one.error.toFixed(2)),
        dom.make("td", { class: "number" }, `${(fitted.shares[at] * 100).toFixed(1)} %`),
      ),
    );
  }

  // How far the viewer can be relied upon, in sentences.
  function judged(fitted) {
    const { consistency, undecided, sides } = fitted;
    const said = [
      `${notation.count(undecided.of, "vote")}, of which ${undecided.count} could not tell.`,
    ];
    if (consistency) {
      const { circular, possible, coefficient, p, rounds } = consistency;
      said.push(
        `Consistency: ${Number(circular.toFixed(2))} of ${possible} possible circles (A before B before C before A) in ${notation.count(rounds, "complete round")}; coefficient ${coefficient.toFixed(2)}, where 1 is without any.${p === null ? "" : ` Tossing a coin does as well with a probability of ${p.toFixed(3)}.`}`,
      );
      if (p > 0.05) said.push("That is not better than chance can be: more rounds would tell more.");
    } else {
      said.push("Consistency is told of a complete round of three speeds or more.");
    }
    said.push(`Left ${sides.left}, right ${sides.right}.`);
    if (sides.p < 0.05) {
      said.push(`A coin falls so unevenly with a probability of ${sides.p.toFixed(3)}: the side itself may have decided.`);
    }
    return said.join(" ");
  }

  return { drawing, rows, judged };
})();
