// What the page itself knows besides the state of the drill.

const TWO_COLUMNS = 1000; // px: also in training.css
const LEFT = 0.58; // of the page, the wider column
const MOST = 1400;
const MARGIN = 16;
const SHEET = 24; // what a sheet keeps free at its sides

/**
 * Whether what is shown is old, whether the clock stands, and the moment of the time line that is
 * read, in seconds; null: its last; of several links the one that is looked at, by its number; and
 * the instrument that lies open, '' for none.
 */
export const looking = {
  old: false,
  held: false,
  moment: /** @type {number | null} */ (null),
  link: 0,
  open: '',
  group: '',
};

/** The window, or a usual one where there is none. */
const window_width = () => globalThis.innerWidth ?? 1280;
export const is_wide = () => window_width() >= TWO_COLUMNS;

/** How wide the column is in which the plant and the instruments lie. */
export function page_width() {
  const all = Math.min(MOST, window_width());
  const column = is_wide() ? Math.floor(all * LEFT) - 2 * MARGIN : all - 2 * MARGIN;
  return Math.max(280, column - SHEET);
}
