// Which film frame is due: the one place where time becomes frames.
const clock = (() => {
  // Times come in milliseconds with some binary dust; a frame that is due by less than this is due.
  const TINY = 1e-9;

  // Film frames that have begun in so many milliseconds.
  function framesIn(ms, speed, base = 0) {
    return Math.floor(base + (ms * speed.num) / (speed.den * 1000) + TINY);
  }

  // Runs from the first beat after start(); a change of speed keeps the place.
  class Clock {
    constructor(speed) {
      this.speed = speed;
      this.base = 0; // frames gone by at `since`, with their part
      this.since = null; // the beat it started at
      this.running = false;
    }

    start() {
      this.running = true;
      this.since = null;
    }

    // Frames gone by, folded into no loop.
    at(now) {
      if (!this.running) return framesIn(0, this.speed, this.base);
      this.since ??= now;
      return framesIn(now - this.since, this.speed, this.base);
    }

    stop(frame) {
      this.running = false;
      this.since = null;
      this.base = frame;
    }

    seek(frame) {
      this.base = frame;
      this.since = null;
    }

    turn(speed, now) {
      if (this.running && this.since !== null) {
        const since = Math.max(now - this.since, 0);
        this.base += (since * this.speed.num) / (this.speed.den * 1000);
        this.since += since;
      }
      this.speed = speed;
    }
  }

  return { framesIn, Clock };
})();
