// A value between two tellings, such as the place of a machine along its way: it glides from what
// was told before to what was told last, and never past it.
import { VirtualClock } from './virtual_clock.js';

const KEPT = 4; // tellings

export class Glide {
  #clock = new VirtualClock();
  /** @type {{ at_ms: number, value: number }[]} oldest first */
  #told = [];
  #rate = '';

  /**
   * @param {number} at_ms when it had that value
   * @param {number} value
   * @param {string} rate at which time runs; 'paused': it does not
   * @param {number} now of the page, ms
   */
  told(at_ms, value, rate, now) {
    const last = this.#told[this.#told.length - 1];
    if (last && last.at_ms === at_ms && rate === this.#rate) {
      last.value = value;
      return;
    }
    if (last && at_ms < last.at_ms) this.#told = [];
    this.#rate = rate;
    this.#told = [...this.#told.slice(1 - KEPT), { at_ms, value }];
    this.#clock.told(at_ms, rate, now);
  }

  /** @param {number} now of the page, ms */
  at(now) {
    const at_ms = this.#clock.at(now);
    const after = this.#told.findIndex((one) => one.at_ms >= at_ms);
    if (after < 0) return this.#told[this.#told.length - 1]?.value ?? 0;
    const to = this.#told[after];
    const from = this.#told[after - 1];
    if (!from) return to.value;
    return from.value + ((to.value - from.value) * (at_ms - from.at_ms)) / (to.at_ms - from.at_ms);
  }

  /** Whether it still glides. @param {number} now of the page, ms */
  glides(now) {
    const values = new Set(this.#told.map(({ value }) => value));
    return values.size > 1 && this.#clock.glides(now);
  }
}
