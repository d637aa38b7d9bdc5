// What several of the modules do with lists.
const lists = (() => {
  const sum = (list) => list.reduce((total, one) => total + one, 0);

  // A table of `size` rows and columns.
  const square = (size, cell) =>
    Array.from({ length: size }, (_, i) => Array.from({ length: size }, (_, j) => cell(i, j)));

  // Every two of `count` things, as pairs of their places.
  function everyTwo(count) {
    const found = [];
    for (let i = 0; i < count; i++) for (let j = i + 1; j < count; j++) found.push([i, j]);
    return found;
  }

  return Object.freeze({ sum, square, everyTwo });
})();
