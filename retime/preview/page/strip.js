// The cadence strip: one cell for each output frame. A film frame's first showing is a square, its
// repeats are discs, a mix is a cell divided by weight; neighbouring film frames differ in shade.
const strip = (() => {
  const CELL = 44;
  const HIGH = 72;
  const BOX = { x: 5, y: 14, size: 34 };

  // What an output frame shows: {k, nth, of} or {parts: [[k, weight], ...]}.
  function looksOf(delivered) {
    if (delivered.mixes) {
      return delivered.mixes.map((parts) => {
        if (parts.length === 1) return { k: parts[0][0], nth: 1, of: 1 };
        return { parts: parts.map(([k, weight]) => [k, weight]) };
      });
    }
    return delivered.shows.flatMap(([k, times]) =>
      Array.from({ length: times }, (_, at) => ({ k, nth: at + 1, of: times })),
    );
  }

  const shade = (k) => (k % 2 ? "odd" : "even");

  function text(x, y, said, kind) {
    return dom.draw("text", { x, y, class: kind, "text-anchor": "middle" }, said);
  }

  function single(x, look, number) {
    const middle = x + CELL / 2;
    const shape =
      look.nth === 1
        ? dom.draw("rect", { x: x + BOX.x, y: BOX.y, width: BOX.size, height: BOX.size, class: `cell ${shade(look.k)}` })
        : dom.draw("circle", { cx: middle, cy: BOX.y + BOX.size / 2, r: 10, class: `cell again ${shade(look.k)}` });
    const said = look.nth === 1 ? [text(middle, BOX.y + 22, String(number(look.k)), `on ${shade(look.k)}`)] : [];
    return [shape, ...said, text(middle, HIGH - 8, look.nth === 1 ? "" : `${look.nth}`, "under")];
  }

  // Parts from left to right, as wide as they weigh, each with its film frame over its weight.
  function mixed(x, look, number) {
    const drawn = [];
    let from = x + BOX.x;
    for (const [k, weight] of look.parts) {
      const width = BOX.size * fractions.value(fractions.read(weight));
      drawn.push(
        dom.draw("rect", { x: from, y: BOX.y, width, height: BOX.size, class: `cell ${shade(k)}` }),
      );
      from += width;
    }
    const first = number(look.parts[0][0]);
    const last = number(look.parts[look.parts.length - 1][0]);
    const middle = x + CELL / 2;
    return [
      ...drawn,
      text(middle, 10, `${first}+${last % 100}`, "under"),
      text(middle, HIGH - 8, look.parts.map(([, weight]) => percent(weight)).join(":"), "under"),
    ];
  }

  const percent = (weight) => String(Math.round(fractions.value(fractions.read(weight)) * 100));

  function cell(look, at, number, chose) {
    const x = at * CELL;
    const parts = look.parts ? mixed(x, look, number) : single(x, look, number);
    const edge = dom.draw("rect", { x: x + 1, y: 1, width: CELL - 2, height: HIGH - 2, class: "edge" });
    const group = dom.draw("g", {}, edge, ...parts);
    group.addEventListener("click", () => chose(at));
    return group;
  }

  function said(look, number) {
    if (look.parts) {
      const parts = look.parts.map(([k, weight]) => `${percent(weight)} % of film frame ${number(k)}`);
      return `a mix of ${notation.listed(parts)}`;
    }
    const showing = look.of === 1 ? "shown once" : `showing ${look.nth} of ${look.of}`;
    return `film frame ${number(look.k)}, ${showing}`;
  }

  class Strip {
    constructor(box) {
      this.box = box;
      this.group = dom.draw("g");
      this.drawing = dom.draw("svg", { height: HIGH, role: "img", "aria-label": "Cadence strip; the line below tells it" }, this.group);
      box.append(this.drawing);
      this.here = null;
    }

    load(looks, number, chose) {
      this.looks = looks;
      this.number = number;
      this.cells = looks.map((look, at) => cell(look, at, number, chose));
      this.group.replaceChildren(...this.cells);
      this.here = null;
    }

    // The output frame on screen is framed, and stands in the middle but at either end.
    show(at) {
      this.here?.classList.remove("here");
      this.here = this.cells[at];
      this.here.classList.add("here");
      const scale = dom.rem() / 16;
      const [width, wide] = [this.box.clientWidth, CELL * scale];
      const middle = width / 2 - (at + 0.5) * wide;
      const shift = Math.min(0, Math.max(middle, width - this.cells.length * wide));
      this.drawing.setAttribute("height", HIGH * scale);
      this.group.setAttribute("transform", `translate(${Math.round(shift)} 0) scale(${scale})`);
    }

    told(at) {
      return `Output frame ${at + 1} of ${this.looks.length}: ${said(this.looks[at], this.number)}.`;
    }
  }

  return { Strip, looksOf };
})();
