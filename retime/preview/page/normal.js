// Symmetric matrices, and the normal distribution in one direction and in several.
const normal = (() => {
  const { sum, square } = lists;

  // The inverse of a symmetric matrix that is positive definite, by elimination.
  function inverse(matrix) {
    const size = matrix.length;
    const rows = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
    for (let at = 0; at < size; at++) {
      const pivot = rows[at][at];
      rows[at] = rows[at].map((cell) => cell / pivot);
      for (let i = 0; i < size; i++) {
        const factor = rows[i][at];
        if (i !== at) rows[i] = rows[i].map((cell, j) => cell - factor * rows[at][j]);
      }
    }
    return rows.map((row) => row.slice(size));
  }

  // The lower triangle whose product with its own transpose is `matrix` (Cholesky).
  function triangle(matrix) {
    const low = square(matrix.length, () => 0);
    for (let i = 0; i < matrix.length; i++) {
      for (let j = 0; j <= i; j++) {
        const rest = matrix[i][j] - sum(low[i].slice(0, j).map((cell, k) => cell * low[j][k]));
        low[i][j] = i === j ? Math.sqrt(rest) : rest / low[j][j];
      }
    }
    return low;
  }

  const density = (x) => Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
  const FAR = 8; // standard deviations, beyond which less than 1e-15 is left
  const MOST_TERMS = 400; // more than a series needs up to there

  // The share of a normal distribution below x, right to about 1e-15: G. Marsaglia, "Evaluating the
  // normal distribution", Journal of Statistical Software 11(4), 2004.
  function shareBelow(x) {
    if (x < -FAR) return 0;
    if (x > FAR) return 1;
    let [total, before, term, odd] = [x, 0, x, 1];
    while (total !== before && odd < MOST_TERMS) {
      odd += 2;
      term *= (x * x) / odd;
      [before, total] = [total, total + term];
    }
    return Math.min(1, Math.max(0, 0.5 + total * density(x)));
  }

  // Below which x a share lies: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions,
  // 1964, 26.2.23, within 4.5e-4, and then two of Newton's steps.
  function pointOf(share) {
    const p = Math.min(Math.max(share, 1e-15), 1 - 1e-15);
    const t = Math.sqrt(-2 * Math.log(Math.min(p, 1 - p)));
    const above = 2.515517 + t * (0.802853 + t * 0.010328);
    const under = 1 + t * (1.432788 + t * (0.189269 + t * 0.001308));
    let x = (p < 0.5 ? -1 : 1) * (t - above / under);
    for (let step = 0; step < 2; step++) x -= (shareBelow(x) - p) / density(x);
    return x;
  }

  const POINTS = 4096;
  const PRIMES = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71];

  // The n-th of points that fill a cube evenly: multiples of roots of primes, folded (Richtmyer).
  const evenly = (n, side) => {
    const part = ((n + 0.5) * Math.sqrt(PRIMES[side % PRIMES.length])) % 1;
    return Math.abs(2 * part - 1);
  };

  // The share of a normal distribution that lies below 0 in every direction: A. Genz, "Numerical
  // computation of multivariate normal probabilities", 1992. In one direction it is exact.
  function shareOfAllBelow(middle, covariance) {
    const low = triangle(covariance);
    const points = middle.length < 2 ? 1 : POINTS;
    let total = 0;
    for (let n = 0; n < points; n++) {
      const found = [];
      let product = 1;
      for (let i = 0; i < middle.length && product > 0; i++) {
        const drawn = sum(found.map((y, k) => low[i][k] * y));
        const share = shareBelow((-middle[i] - drawn) / low[i][i]);
        product *= share;
        found.push(i + 1 < middle.length ? pointOf(evenly(n, i) * share) : 0);
      }
      total += product;
    }
    return total / points;
  }

  return Object.freeze({ inverse, shareOfAllBelow });
})();
