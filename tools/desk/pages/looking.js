// What the page itself knows besides what it was told: what is looked at, typed, refused.

/** @typedef {import('./told.js').Refusal} Refusal */
/**
 * A value on its way to the program, or refused by it.
 * @typedef {'sent' | 'taken' | 'refused'} EditState
 * @typedef {{ text: string, base: string, state: EditState, refusal: Refusal | null }} Edit
 */

export const looking = {
  /** Raised by each change in here, so that parts of the page know that they are to be drawn. */
  version: 0,
  /** The beginnings are shown although a file is open. */
  beginnings: false,
  /** Which link is looked at, by its number. */
  link: 0,
  /** Links at the bench that are opened, by name; of few links all are. */
  opened: /** @type {Set<string>} */ (new Set()),
  /** The watchdog that the handle stands on, in ms, by link. */
  handles: /** @type {Map<string, number>} */ (new Map()),
  /** Typed values by path. */
  edits: /** @type {Map<string, Edit>} */ (new Map()),
  /** Refusals by the place where something was done. */
  refused: /** @type {Map<string, Refusal>} */ (new Map()),
  /** The rate that was chosen, until it is told. */
  rate: /** @type {string | null} */ (null),
  /** A telegram that is explained. */
  explained:
    /** @type {{ link: string, number: string, told: import('./told.js').Explained } | null} */ (
      null
    ),
  /** The text of a file that does not parse. */
  text: /** @type {string | null} */ (null),
  /** Files that were dropped on the page, not taken yet. */
  dropped: /** @type {{ name: string, text: string }[]} */ ([]),
  /** What is shown is old. */
  old: false,
};

/** Something in here was changed. */
export function changed() {
  ++looking.version;
}
