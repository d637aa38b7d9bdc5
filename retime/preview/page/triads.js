// Circular triads: A before B, B before C, and C before A. How many of them a round of pairs holds
// says how consistent it was: M. G. Kendall and B. Babington Smith, "On the method of paired
// comparisons", Biometrika 31, 1940.
const triads = (() => {
  const { sum, everyTwo } = lists;

  const choose = (n, k) => {
    let ways = 1;
    for (let i = 0; i < k; i++) ways = (ways * (n - i)) / (i + 1);
    return ways;
  };

  // How many circular triads a round holds, told as a table of which share of a pair's vote is for
  // the first: 1, 0, or 1/2. A pair that could not be told counts as if tossed for: what is returned
  // is the mean over both ways.
  function circularIn(round) {
    let found = 0;
    for (const [i, j] of everyTwo(round.length)) {
      for (let k = j + 1; k < round.length; k++) {
        found += round[i][j] * round[j][k] * round[k][i] + round[j][i] * round[k][j] * round[i][k];
      }
    }
    return found;
  }

  // The most circular triads that there can be (the same paper).
  const mostCircular = (n) => (n ** 3 - (n % 2 ? n : 4 * n)) / 24;

  // How probable each number of circular triads is where every pair is tossed for. That number is
  // C(n, 3) less C(wins, 2) of each, so only how many have how many wins is kept while one after
  // another joins.
  function tossedTriads(count) {
    let standings = new Map([["", 1]]); // from the wins of all so far, in order, to its probability
    for (let others = 0; others < count; others++) {
      const next = new Map();
      for (const [key, probability] of standings) {
        for (const [wins, ways] of joined(key ? key.split(",").map(Number) : [])) {
          const told = wins.join(",");
          next.set(told, (next.get(told) || 0) + (probability * ways) / 2 ** others);
        }
      }
      standings = next;
    }
    const found = Array(mostCircular(count) + 1).fill(0);
    for (const [key, probability] of standings) {
      const wins = key.split(",").map(Number);
      found[choose(count, 3) - sum(wins.map((won) => choose(won, 2)))] += probability;
    }
    return found;
  }

  // One more meets all of `wins`: the wins of all then, in order, each with how many ways lead
  // there.
  function joined(wins) {
    let partial = [[[], 0, 1]]; // wins so far, how many the new one lost to, and in how many ways
    for (const value of new Set(wins)) {
      const alike = wins.filter((one) => one === value).length;
      partial = partial.flatMap(([before, lost, ways]) =>
        Array.from({ length: alike + 1 }, (_, beaten) => [
          [...before, ...Array(alike - beaten).fill(value), ...Array(beaten).fill(value + 1)],
          lost + beaten,
          ways * choose(alike, beaten),
        ]),
      );
    }
    return partial.map(([all, lost, ways]) => [
      [...all, wins.length - lost].sort((a, b) => a - b),
      ways,
    ]);
  }

  // The distribution of the sum of two whole numbers that do not depend on one another.
  function added(first, second) {
    const found = Array(first.length + second.length - 1).fill(0);
    first.forEach((p, i) => second.forEach((q, j) => (found[i + j] += p * q)));
    return found;
  }

  return Object.freeze({ circularIn, mostCircular, tossedTriads, added });
})();
