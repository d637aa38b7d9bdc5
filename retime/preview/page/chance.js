// Chance that can be repeated: the same seed gives the same numbers. For what is to be fair, not for
// what is to be secret.
const chance = (() => {
  const WORD = 64;
  const HALF = 2 ** 32;

  // SplitMix64: G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number
  // generators", 2014; the constants are from memory, and the tests hold them against the sequence
  // that is published for the seed 1234567. It takes any seed, and seeds that are neighbours give
  // sequences that are not. Returns a function that gives the upper 32 bits of the next number.
  function source(seed) {
    let state = BigInt.asUintN(WORD, BigInt(seed));
    return () => {
      state = BigInt.asUintN(WORD, state + 0x9e3779b97f4a7c15n);
      let z = state;
      z = BigInt.asUintN(WORD, (z ^ (z >> 30n)) * 0xbf58476d1ce4e5b9n);
      z = BigInt.asUintN(WORD, (z ^ (z >> 27n)) * 0x94d049bb133111ebn);
      return Number((z ^ (z >> 31n)) >> 32n);
    };
  }

  // A whole number from 0 to below `count`, each alike: numbers past the last whole turn go back.
  function below(count, next) {
    const turns = HALF - (HALF % count);
    let drawn = next();
    while (drawn >= turns) drawn = next();
    return drawn % count;
  }

  // R. Durstenfeld, "Algorithm 235: Random permutation", 1964.
  function shuffle(list, next) {
    for (let last = list.length - 1; last > 0; last--) {
      const other = below(last + 1, next);
      [list[last], list[other]] = [list[other], list[last]];
    }
  }

  return Object.freeze({ source, below, shuffle });
})();
