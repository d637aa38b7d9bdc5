// A picture on a canvas that follows a clock, and an account of every film frame that was due.
const player = (() => {
  const fold = (n, count) => ((n % count) + count) % count;

  class Player {
    constructor(canvas, speed, changed = () => {}) {
      this.canvas = canvas;
      this.context = canvas.getContext("2d", { alpha: false });
      this.clock = new clock.Clock(speed);
      this.changed = changed;
      this.loop = true;
      this.frame = 0; // the film frame that is due, from 0
      this.shown = null; // the one on the canvas
      this.gone = 0; // as the clock counts
      this.late = 0;
      this.passed = 0;
    }

    get running() {
      return this.clock.running;
    }

    load(roll) {
      this.roll = roll;
      this.canvas.width = roll.excerpt.width;
      this.canvas.height = roll.excerpt.height;
      this.shown = null;
      this.late = this.passed = 0;
      this.seek(0);
    }

    seek(frame) {
      this.clock.seek(frame);
      this.due(frame);
    }

    due(frame) {
      this.gone = this.frame = frame;
      if (!this.paint()) this.roll.want(frame).then(() => this.frame === frame && this.paint());
      this.roll.ahead(frame);
      this.changed(this);
    }

    step(by) {
      const next = this.frame + by;
      const last = this.roll.count - 1;
      this.seek(this.loop ? fold(next, last + 1) : Math.min(Math.max(next, 0), last));
    }

    start() {
      this.clock.start();
    }

    stop() {
      if (this.running) this.clock.stop(this.frame);
    }

    turn(speed) {
      this.clock.turn(speed, beat.latest());
    }

    // Draws the frame that is due, if it is there; one that is not is waited for, not left out.
    paint() {
      if (this.shown === this.frame) return true;
      const picture = this.roll.picture(this.frame);
      if (!picture) return false;
      this.context.drawImage(picture, 0, 0, this.canvas.width, this.canvas.height);
      this.shown = this.frame;
      return true;
    }

    tick(now) {
      const gone = this.clock.at(now);
      if (gone === this.gone) {
        this.paint();
        return;
      }
      if (!this.loop && gone >= this.roll.count) {
        this.clock.stop(this.roll.count - 1);
        this.due(this.roll.count - 1);
        return;
      }
      this.passed += Math.max(gone - this.gone - 1, 0);
      this.gone = gone;
      this.frame = fold(gone, this.roll.count);
      if (!this.paint()) this.late += 1;
      this.roll.ahead(this.frame);
      this.changed(this);
    }
  }

  // What a viewer should know of how well it played, "" where there is nothing to say.
  function account(players) {
    const sum = (key) => players.reduce((total, one) => total + one[key], 0);
    const broken = Math.max(0, ...players.map((one) => one.roll?.broken.size ?? 0));
    const said = [];
    if (sum("late")) said.push(`${notation.count(sum("late"), "picture")} came late`);
    if (sum("passed")) said.push(`${notation.count(sum("passed"), "film frame")} passed unseen between two refreshes`);
    if (broken) said.push(`${notation.count(broken, "picture")} cannot be read`);
    return said.length ? `${said.join("; ")}.` : "";
  }

  return { Player, account, fold };
})();
