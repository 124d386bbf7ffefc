/**
 * Lets a few in at a time and turns the rest away at once instead of queueing them: one process that
 * queues answers everybody late. A short waiting room absorbs a page that asks for its pictures together.
 */
export class Gate {
  #inside = 0;
  #waiting = [];

  /** @param {{ atOnce: number, waiting: number, patienceMs: number }} size */
  constructor(size) {
    this.size = size;
  }

  /** @returns {Promise<(() => void) | null>} call it when done; null when turned away */
  async enter() {
    if (this.#inside < this.size.atOnce) return this.#admit();
    if (this.#waiting.length >= this.size.waiting) return null;
    return new Promise((resolve) => {
      const letIn = () => {
        clearTimeout(timer);
        resolve(this.#admit());
      };
      const timer = setTimeout(() => {
        this.#waiting.splice(this.#waiting.indexOf(letIn), 1);
        resolve(null);
      }, this.size.patienceMs);
      this.#waiting.push(letIn);
    });
  }

  #admit() {
    this.#inside += 1;
    let isInside = true;
    return () => {
      if (!isInside) return;
      isInside = false;
      this.#inside -= 1;
      this.#waiting.shift()?.();
    };
  }
}
