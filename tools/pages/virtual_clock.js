// The time of a bench between two tellings: what is drawn glides from the instant told before to
// the one told last, and never past it.

const LEAST_MS = 40;
const MOST_MS = 250;

export class VirtualClock {
  #from = 0;
  #to = 0;
  #told_at = 0; // on the clock of the page, ms
  #over = 100; // how long it glides
  #rate = '';
  #any = false;

  /**
   * An instant was told. Where the rate is another one, or time went back, nothing between the two
   * is known: the clock jumps.
   * @param {number} at_ms of the bench
   * @param {string} rate at which it runs
   * @param {number} now of the page, ms
   */
  told(at_ms, rate, now) {
    const steady = this.#any && rate === this.#rate && rate !== 'paused' && at_ms >= this.#to;
    if (this.#any && at_ms === this.#to && rate === this.#rate) return;
    this.#from = steady ? this.at(now) : at_ms;
    this.#over = Math.min(MOST_MS, Math.max(LEAST_MS, now - this.#told_at));
    this.#to = at_ms;
    this.#told_at = now;
    this.#rate = rate;
    this.#any = true;
  }

  /** @param {number} now of the page, ms */
  at(now) {
    const share = Math.min(1, Math.max(0, (now - this.#told_at) / this.#over));
    return this.#from + (this.#to - this.#from) * share;
  }

  /** Whether it still glides. @param {number} now of the page, ms */
  glides(now) {
    return this.#from !== this.#to && now - this.#told_at < this.#over;
  }
}
