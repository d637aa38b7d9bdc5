// The screen's refreshes. It asks for them only while something plays.
const beat = (() => {
  const players = new Set();
  let latest = 0;
  let asked = false;

  function run(now) {
    asked = false;
    latest = now;
    for (const each of players) each(now);
    ask();
  }

  function ask() {
    if (asked || !players.size) return;
    asked = true;
    requestAnimationFrame(run);
  }

  function add(each) {
    players.add(each);
    ask();
  }

  return { add, remove: (each) => players.delete(each), latest: () => latest };
})();
