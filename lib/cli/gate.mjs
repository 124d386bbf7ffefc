/**
 * Lets a few in at a time and turns the rest away at once instead of queueing them: one process that
 * queues answers everybody late. A short waiting room absorbs a page that asks for its pictures together.
 */
export class Gate {
  /** Who is inside, the longest there first, each with what is asked of it when there is no room. */
  #inside = new Map();
  #waiting = [];

  /** @param {{ atOnce: number, waiting: number, patienceMs: number }} size */
  constructor(size) {
    this.size = size;
  }

  /**
   * @param {() => boolean} [givesWay] asked while inside, when somebody else finds no room: true once it has ended itself for them
   * @returns {Promise<(() => void) | null>} call it when done; null when turned away
   */
  async enter(givesWay = () => false) {
    if (this.#hasRoom()) return this.#admit(givesWay);
    if (this.#waiting.length >= this.size.waiting) return null;
    return new Promise((resolve) => {
      const letIn = () => {
        clearTimeout(timer);
        resolve(this.#admit(givesWay));
      };
      const timer = setTimeout(() => {
        this.#waiting.splice(this.#waiting.indexOf(letIn), 1);
        resolve(null);
      }, this.size.patienceMs);
      this.#waiting.push(letIn);
    });
  }

  /** Made where there is none by whoever has gone too slowly for it. */
  #hasRoom() {
    if (this.#inside.size < this.size.atOnce) return true;
    for (const [place, givesWay] of this.#inside) {
      if (givesWay()) return this.#inside.delete(place);
    }
    return false;
  }

  #admit(givesWay) {
    const place = Symbol("place");
    this.#inside.set(place, givesWay);
    return () => {
      if (this.#inside.delete(place)) this.#waiting.shift()?.();
    };
  }
}
