// Pairs of speeds, compared by eye: in which order they are shown, what the votes come to, and how
// that is written down for `retime weigh`. Pure: nothing here knows of a page.
//
//   pairs.order(speeds, rounds, seed)  -> [[left, right], ...]
//   pairs.fit(speeds, votes)           -> what the votes come to, see there
//   pairs.item({...})                  -> an item of kind `viewing`, YAML to stand below `evidence:`
//
// A speed is a text such as "18" or "24000/1001", a vote {left, right, said} with two of them and
// "left", "right" or "neither". The modules lists, chance, normal, triads, yaml and viewing stand
// before this one.
const pairs = (() => {
  const { sum, square, everyTwo } = lists;

  // Every pair of speeds once a round, in any order alike, and each tossed for its sides. `seed` is
  // a whole number (or a BigInt), of which 64 bits are taken.
  function order(speeds, rounds, seed) {
    const next = chance.source(seed);
    const shown = [];
    for (let round = 0; round < rounds; round++) {
      const found = everyTwo(speeds.length);
      chance.shuffle(found, next);
      for (const [i, j] of found) {
        const sides = [speeds[i], speeds[j]];
        shown.push(chance.below(2, next) ? sides.reverse() : sides);
      }
    }
    return shown;
  }

  // Before any vote a strength is taken to be normal around 0 with this variance, that of the
  // Gumbel distribution. The difference of two then has the variance of the logistic distribution,
  // pi^2/3, with which every preference of one speed over another from 0 to 1 is as likely as any:
  // about what Laplace's rule of succession takes for granted, a vote for each. So a speed that won
  // every time stays finite.
  const PRIOR = Math.PI ** 2 / 6;
  const MOST_STEPS = 200;
  const STILL = 1e-12;
  const MOST_TOSSED = 10;

  // How strongly a pair's first is preferred: R. A. Bradley and M. E. Terry, 1952.
  const preference = (first, second) => 1 / (1 + Math.exp(second - first));

  // How often each was preferred to each. "Neither" is half a vote for both: what each has is then
  // its wins and half its ties, which is all that R. R. Davidson's model of ties (1970) asks of the
  // votes as well. Half votes draw the strengths nearer to one another than his model does, and so
  // claim less: who often cannot tell is less sure here, never surer.
  function wins(speeds, votes) {
    const won = square(speeds.length, () => 0);
    for (const vote of votes) {
      const [left, right] = [placeOf(speeds, vote.left), placeOf(speeds, vote.right)];
      const share = leftShare(vote);
      won[left][right] += share;
      won[right][left] += 1 - share;
    }
    return won;
  }

  const leftShare = (vote) => ({ left: 1, right: 0, neither: 0.5 })[vote.said];

  function placeOf(speeds, speed) {
    const place = speeds.indexOf(speed);
    if (place < 0) throw new RangeError(`${speed} is none of the speeds that were compared`);
    return place;
  }

  // The slope of the log posterior at `at`, and its information, both in all strengths.
  function shapeOf(won, at, variance) {
    const size = at.length;
    const slope = at.map((strength) => -strength / variance);
    // Votes and mean 0 say nothing of all strengths moved alike: 1/size in each cell holds them.
    const bent = square(size, (i, j) => 1 / size + (i === j ? 1 / variance : 0));
    for (const [i, j] of everyTwo(size)) {
      const [met, p] = [won[i][j] + won[j][i], preference(at[i], at[j])];
      const [more, less] = [won[i][j] - met * p, met * p * (1 - p)];
      slope[i] += more;
      slope[j] -= more;
      bent[i][i] += less;
      bent[j][j] += less;
      bent[i][j] -= less;
      bent[j][i] -= less;
    }
    return { slope, bent };
  }

  // The most probable strengths, by Newton's method, none of them moved by more than 1 at a time;
  // their mean is 0. Beside them the inverse of the information. A shift of all alike, of which no
  // vote speaks, is in it too: it falls out of differences, and `aroundMean` takes it out.
  function strengthsOf(won, variance) {
    let at = won.map(() => 0);
    for (let turn = 0; turn < MOST_STEPS; turn++) {
      const { slope, bent } = shapeOf(won, at, variance);
      const step = normal.inverse(bent).map((row) => sum(row.map((cell, j) => cell * slope[j])));
      const widest = Math.max(...step.map(Math.abs));
      at = at.map((strength, i) => strength + step[i] / Math.max(1, widest));
      if (widest < STILL) break;
    }
    return { at, doubt: normal.inverse(shapeOf(won, at, variance).bent) };
  }

  // What is left of a covariance when the mean of all is held at 0.
  function aroundMean(doubt) {
    const rows = doubt.map((row) => sum(row) / row.length);
    const all = sum(rows) / rows.length;
    return square(doubt.length, (i, j) => doubt[i][j] - rows[i] - rows[j] + all);
  }

  // How probable it is of each that it is the strongest: the normal approximation.
  function sharesOf(at, doubt) {
    const shares = at.map((own, i) => {
      const others = at.map((_, j) => j).filter((j) => j !== i);
      const covariance = others.map((j) =>
        others.map((k) => doubt[j][k] - doubt[j][i] - doubt[i][k] + doubt[i][i]),
      );
      return normal.shareOfAllBelow(others.map((j) => at[j] - own), covariance);
    });
    const total = sum(shares);
    return shares.map((share) => share / total);
  }

  // The complete rounds: in the n-th, each pair's n-th vote as the first's share of it.
  function roundsOf(speeds, votes) {
    const said = square(speeds.length, () => []);
    for (const vote of votes) {
      const [left, right] = [placeOf(speeds, vote.left), placeOf(speeds, vote.right)];
      said[left][right].push(leftShare(vote));
      said[right][left].push(1 - leftShare(vote));
    }
    const complete = Math.min(...everyTwo(speeds.length).map(([i, j]) => said[i][j].length));
    return Array.from({ length: complete }, (_, round) =>
      square(speeds.length, (i, j) => said[i][j][round]),
    );
  }

  // Over all complete rounds; null where there is none, or fewer than three speeds. `coefficient` is
  // the paper's coefficient of consistence, 1 where no triad is circular and 0 where as many are as
  // can be; `p` is how probable so few are where every pair is tossed for, exactly (null for more
  // speeds than MOST_TOSSED, of which there are too many ways to go through).
  function consistencyOf(speeds, votes) {
    const rounds = speeds.length < 3 ? [] : roundsOf(speeds, votes);
    if (!rounds.length) return null;
    const circular = sum(rounds.map(triads.circularIn));
    const possible = rounds.length * triads.mostCircular(speeds.length);
    return {
      rounds: rounds.length,
      circular,
      possible,
      coefficient: 1 - circular / possible,
      p: speeds.length > MOST_TOSSED ? null : tossedAsFew(circular, speeds.length, rounds.length),
    };
  }

  function tossedAsFew(circular, count, rounds) {
    const once = triads.tossedTriads(count);
    let all = once;
    for (let round = 1; round < rounds; round++) all = triads.added(all, once);
    return Math.min(1, sum(all.slice(0, Math.floor(circular) + 1)));
  }

  // Whether one side was preferred for its own sake. Sides are tossed for, so the left one wins as
  // a coin falls, whichever speeds are good: `p` is the exact binomial test of that, two-sided.
  function sidesOf(votes) {
    const left = votes.filter((vote) => vote.said === "left").length;
    const right = votes.filter((vote) => vote.said === "right").length;
    const all = left + right;
    let [log, p] = [-all * Math.log(2), 0];
    for (let k = 0; k <= Math.min(left, right); k++) {
      p += Math.exp(log);
      log += Math.log((all - k) / (k + 1));
    }
    return { left, right, p: Math.min(1, 2 * p) };
  }

  // What votes come to:
  //
  //   scale        [{speed, strength, error}]: strengths in natural logarithms, their mean 0, so that
  //                the odds of A over B are exp(A - B); standard errors
  //   shares       how probable it is of each speed that it is the most preferred; their sum is 1
  //   consistency  {rounds, circular, possible, coefficient, p}, or null
  //   undecided    {count, of, share}: how many votes were "neither"
  //   sides        {left, right, p}: how many were for either side
  //
  // `variance` is that of the prior; Infinity for none, as published fits have it.
  function fit(speeds, votes, variance = PRIOR) {
    const { at, doubt } = strengthsOf(wins(speeds, votes), variance);
    const held = aroundMean(doubt);
    const undecided = votes.filter((vote) => vote.said === "neither").length;
    return {
      scale: speeds.map((speed, i) => ({
        speed,
        strength: at[i],
        error: Math.sqrt(Math.max(0, held[i][i])),
      })),
      shares: sharesOf(at, doubt),
      consistency: consistencyOf(speeds, votes),
      undecided: {
        count: undecided,
        of: votes.length,
        share: votes.length ? undecided / votes.length : 0,
      },
      sides: sidesOf(votes),
    };
  }

  return Object.freeze({ order, fit, item: viewing.item });
})();
