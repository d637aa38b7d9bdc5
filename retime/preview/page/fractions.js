// Speeds as fractions {num, den} of film frames a second, and how people write them.
const fractions = (() => {
  const NUMBER = /^(\d{1,9})(?:\.(\d{1,6}))?$/;
  const RATIO = /^(\d{1,9})\/(\d{1,9})$/;
  const HINT = "Write 20, 18.5, 240/11, 20 fps or 75 ft/min.";
  const SLOWEST = 1;
  const FASTEST = 120;
  const LONGEST_TERM = 999999999; // what a map takes

  function divisor(a, b) {
    while (b) [a, b] = [b, a % b];
    return a;
  }

  // Terms may be whole numbers or BigInts; they are reduced before they become numbers.
  function make(num, den = 1) {
    const [above, below] = [BigInt(num), BigInt(den)];
    const shared = divisor(above, below);
    return { num: Number(above / shared), den: Number(below / shared) };
  }

  function number(text) {
    const ratio = RATIO.exec(text);
    if (ratio) return Number(ratio[2]) ? make(ratio[1], ratio[2]) : null;
    const plain = NUMBER.exec(text);
    if (!plain) return null;
    const decimals = plain[2] ?? "";
    return make(plain[1] + decimals, 10n ** BigInt(decimals.length));
  }

  // A fraction from the data block, which is well written: "20", "240/11", or decimals where its
  // terms would be very long.
  function read(text) {
    const [above, below = "1"] = text.split("/");
    const [whole, decimals = ""] = above.split(".");
    return make(whole + decimals, BigInt(below) * 10n ** BigInt(decimals.length));
  }

  const perFoot = read(data.frames_per_foot);

  function ofFeetPerMinute(feet) {
    const num = BigInt(feet.num) * BigInt(perFoot.num);
    return make(num, BigInt(feet.den) * BigInt(perFoot.den) * 60n);
  }

  // What somebody typed: {speed}, or {wrong} with what would be right.
  function typed(text) {
    const written = text.trim();
    const [, amount, unit] = /^(.*?)\s*(fps|ft\/min|)$/.exec(written) ?? [null, "", ""];
    const figure = number(amount);
    if (!figure || !figure.num) return { wrong: `“${written.slice(0, 40)}” is no speed. ${HINT}` };
    const speed = unit === "ft/min" ? ofFeetPerMinute(figure) : figure;
    const fps = value(speed);
    if (fps < SLOWEST || fps > FASTEST) {
      return { wrong: `A speed from ${SLOWEST} to ${FASTEST} fps can be watched, not ${short(speed)}.` };
    }
    if (speed.num > LONGEST_TERM || speed.den > LONGEST_TERM) {
      return { wrong: "This is finer than a map can say. Write fewer decimals." };
    }
    return { speed };
  }

  const value = (fraction) => fraction.num / fraction.den;

  const same = (one, other) => one.num === other.num && one.den === other.den;

  // Exact: whole, with at most 6 decimals, or as a fraction; rounded to 6 decimals only where its
  // terms are longer than a map takes.
  function exact(fraction) {
    if (fraction.num > LONGEST_TERM || fraction.den > LONGEST_TERM) {
      return String(Math.round(value(fraction) * 1e6) / 1e6);
    }
    const micro = (BigInt(fraction.num) * 1000000n) / BigInt(fraction.den);
    if (micro * BigInt(fraction.den) !== BigInt(fraction.num) * 1000000n) {
      return `${fraction.num}/${fraction.den}`;
    }
    return String(Number(micro) / 1e6);
  }

  // To two decimals, as it is shown where a reader wants the size of it.
  const short = (fraction) => String(Math.round(value(fraction) * 100) / 100);

  // A fraction that is not obvious is told both ways.
  function told(fraction) {
    const said = exact(fraction);
    return said.includes("/") ? `${said} (${short(fraction)}) fps` : `${said} fps`;
  }

  function feetPerMinute(fraction) {
    return Math.round(((value(fraction) * 60) / value(perFoot)) * 10) / 10;
  }

  return { make, read, typed, value, same, exact, short, told, feetPerMinute, perFoot };
})();
