// What the page itself knows besides the state of the drill.

/**
 * Whether what is shown is old, and the moment of the time line that is read, in seconds; null: its
 * last; and of several links the one that is looked at, by its number.
 */
export const looking = { old: false, moment: /** @type {number | null} */ (null), link: 0 };
