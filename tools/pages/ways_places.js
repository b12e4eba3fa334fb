// Where the telegrams of a link are on their way, from what was told of them: made, due, and what
// became of them. Nothing is drawn that is not between two told facts.

/**
 * @typedef {object} Telegram
 * @property {number} id
 * @property {number} way 0 to the device, 1 to the controller
 * @property {number | null} number
 * @property {number} made_ms
 * @property {number | null} due_ms
 * @property {string | null} fate accepted, repeated, ignored, rejected, lost, waits; null: not told
 * @property {number | null} fate_ms
 * @property {string} reason
 */
/**
 * @typedef {object} Place
 * @property {number} id
 * @property {number} way
 * @property {number | null} number
 * @property {number} share 0: at the sending end, 1: at the receiving one
 * @property {'going' | 'leaves' | 'waits' | 'rejected' | 'lost'} state
 * @property {number} age_ms
 * @property {string} reason
 */

const LEAST_SHOWN_MS = 40;

/**
 * What of a telegram can be seen at that instant; null: nothing.
 * @param {Telegram} one
 * @param {number} at_ms
 * @param {number} shown_ms how long a rejected or lost one stays in the picture
 * @returns {Place | null}
 */
export function place_of(one, at_ms, shown_ms) {
  const { id, way, number, made_ms, due_ms, fate, fate_ms, reason } = one;
  if (at_ms < made_ms) return null;
  const whole = { id, way, number, reason, age_ms: at_ms - made_ms };
  const over = due_ms === null || due_ms <= made_ms ? null : (at_ms - made_ms) / (due_ms - made_ms);
  const share = over === null ? 0 : Math.min(1, over);
  const ended = fate !== null && fate_ms !== null && at_ms >= fate_ms;
  if (ended && (fate === 'rejected' || fate === 'lost')) {
    if (at_ms - fate_ms > Math.max(shown_ms, LEAST_SHOWN_MS)) return null;
    const age_ms = fate_ms - made_ms;
    if (fate === 'rejected') return { ...whole, age_ms, share: 1, state: 'rejected' };
    return { ...whole, age_ms, share: over === null ? 0.5 : share, state: 'lost' };
  }
  if (ended && fate !== 'waits') return null;
  if (share === 1) return { ...whole, share, state: 'waits' };
  return { ...whole, share, state: over === null ? 'leaves' : 'going' };
}

/**
 * All that can be seen, of rejected and lost ones the last of each way.
 * @param {Telegram[]} all oldest first
 * @param {number} at_ms
 * @param {number} shown_ms
 */
export function places_of(all, at_ms, shown_ms) {
  /** @type {Place[]} */
  const moving = [];
  /** @type {Map<string, Place>} */
  const ended = new Map();
  for (const one of all) {
    const place = place_of(one, at_ms, shown_ms);
    if (!place) continue;
    if (place.state === 'rejected' || place.state === 'lost')
      ended.set(`${place.way} ${place.state}`, place);
    else moving.push(place);
  }
  return [...moving, ...ended.values()];
}
