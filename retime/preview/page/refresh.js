// The screen's own refresh rate, and the second cadence that it adds: how many refreshes each film
// frame stays.
const refresh = (() => {
  const LEAST = 60; // refreshes that a measurement needs
  const DROPPED = 5; // at the beginning, while the page is still busy
  const MOST_SHOWN = 24;

  function median(numbers) {
    const sorted = [...numbers].sort((a, b) => a - b);
    const middle = sorted.length >> 1;
    return sorted.length % 2 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
  }

  // Times of refreshes, in milliseconds, as {hz, steady}: the median is not moved by late ones.
  function rateOf(times) {
    const steps = times.slice(1).map((time, at) => time - times[at]);
    const step = median(steps);
    const near = steps.filter((one) => Math.abs(one - step) < step / 10).length;
    return { hz: 1000 / step, steady: near / steps.length };
  }

  function measure() {
    return new Promise((resolve) => {
      const times = [];
      const each = (now) => {
        times.push(now);
        if (times.length < LEAST + DROPPED) requestAnimationFrame(each);
        else resolve(rateOf(times.slice(DROPPED)));
      };
      requestAnimationFrame(each);
    });
  }

  // Refreshes that each film frame of a cycle stays, on a screen of a whole number of them a second.
  function runs(speed, hz) {
    const step = fractions.make(BigInt(speed.num), BigInt(speed.den) * BigInt(hz));
    const begins = (k) => Math.ceil((k * step.den) / step.num);
    const found = [];
    for (let k = 0; k < Math.min(step.num, 10000); k += 1) found.push(begins(k + 1) - begins(k));
    return found;
  }

  function cadence(speed, hz) {
    const found = runs(speed, Math.round(hz));
    const least = found.reduce((low, run) => Math.min(low, run));
    const most = found.reduce((high, run) => Math.max(high, run));
    if (least === most) return { even: true, shown: `${most}:${most}`, told: `${most}:${most}, even` };
    const long = found.filter((run) => run === most).length;
    const shown = found.slice(0, MOST_SHOWN).join(":") + (found.length > MOST_SHOWN ? ":…" : "");
    const told = `${shown}, uneven: of ${found.length} film frames ${long} for ${most} refreshes, ${found.length - long} for ${least}`;
    return { even: false, shown, told };
  }

  // What of it could decide a vote: where some speeds are even and others are not, or all uneven.
  function warning(speeds, hz) {
    const [even, uneven] = [[], []];
    for (const speed of speeds) {
      (cadence(speed, hz).even ? even : uneven).push(fractions.exact(speed));
    }
    if (!uneven.length) return "";
    const step = Math.round(1000 / hz);
    if (!even.length) {
      return `None of these speeds goes evenly into this screen's ${Math.round(hz)} Hz: every one judders by up to ${step} ms, some more visibly than others.`;
    }
    return `On this screen ${notation.listed(even)} fps ${even.length === 1 ? "runs" : "run"} evenly, and ${notation.listed(uneven)} fps ${uneven.length === 1 ? "judders" : "judder"} by up to ${step} ms. An even one may win for its smoothness alone. A screen of 120 Hz or more makes the difference smaller.`;
  }

  return { rateOf, measure, runs, cadence, warning };
})();
