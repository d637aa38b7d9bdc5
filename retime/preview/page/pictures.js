// An excerpt's pictures, read and decoded before they are due.
const pictures = (() => {
  const KEPT = 300 * 2 ** 20; // bytes of decoded pictures
  const AHEAD = 32;
  const AT_ONCE = 4;

  class Roll {
    constructor(excerpt) {
      this.excerpt = excerpt;
      this.count = excerpt.frames;
      this.broken = new Set();
      this.held = new Map(); // by film frame, those wanted last at the end
      this.coming = new Map();
      this.most = Math.max(2 * AHEAD, Math.floor(KEPT / (4 * excerpt.width * excerpt.height)));
      this.folder = excerpt.folder.split("/").map(encodeURIComponent).join("/");
    }

    picture(k) {
      const picture = this.held.get(k);
      if (picture) {
        this.held.delete(k);
        this.held.set(k, picture);
      }
      return picture;
    }

    want(k) {
      if (this.held.has(k) || this.broken.has(k)) return Promise.resolve();
      if (!this.coming.has(k)) {
        this.coming.set(k, this.fetch(k).finally(() => this.coming.delete(k)));
      }
      return this.coming.get(k);
    }

    async fetch(k) {
      const image = new Image();
      image.src = `${this.folder}/${String(k).padStart(5, "0")}.jpg`;
      try {
        await image.decode();
        this.keep(k, await createImageBitmap(image));
      } catch {
        this.broken.add(k);
      }
    }

    keep(k, picture) {
      this.held.set(k, picture);
      for (const [oldest, old] of this.held) {
        if (this.held.size <= this.most) return;
        this.held.delete(oldest);
        old.close();
      }
    }

    // What comes next, a few at a time, so that the nearest is never behind the others.
    ahead(k) {
      for (let step = 0; step < Math.min(AHEAD, this.count); step += 1) {
        if (this.coming.size >= AT_ONCE) return;
        this.want((k + step) % this.count);
      }
    }

    // All that the beginning needs, so that a start is not held up.
    async ready(k, least = 12) {
      const wanted = [];
      for (let step = 0; step < Math.min(least, this.count); step += 1) {
        wanted.push(this.want((k + step) % this.count));
      }
      await Promise.all(wanted);
    }

    // Every picture, or as many as are kept: where speeds are compared, none may come late.
    all() {
      return this.ready(0, this.most);
    }

    close() {
      for (const picture of this.held.values()) picture.close();
      this.held.clear();
    }
  }

  return { Roll };
})();
