// Which speed was chosen for which part of the film. Nearer choices win, as in a map.
const choosing = (() => {
  const told = [];
  const chosen = { film: null, reels: new Map(), shots: new Map() };

  const changed = () => told.forEach((each) => each());

  function set(part, name, speed) {
    if (part === "film") chosen.film = speed;
    else chosen[part].set(name, speed);
    changed();
  }

  function drop(part, name) {
    if (part === "film") chosen.film = null;
    else chosen[part].delete(name);
    changed();
  }

  const some = () => Boolean(chosen.film || chosen.reels.size || chosen.shots.size);

  // A version needs a speed for all that nothing was chosen for: the one chosen first, if need be.
  function ground() {
    return chosen.film ?? [...chosen.reels.values(), ...chosen.shots.values()][0];
  }

  const said = (speed) => `${fractions.exact(speed)} fps`;
  const entries = (map) => [...map].map(([name, speed]) => [name, said(speed)]);

  function lines(name) {
    return papers.version(name, {
      film: said(ground()),
      reels: entries(chosen.reels),
      shots: entries(chosen.shots),
    });
  }

  return { chosen, set, drop, some, ground, lines, whenChanged: (each) => told.push(each) };
})();
