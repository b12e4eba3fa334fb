// Drawings that pages share, each as wide as its place is, so that its letters keep their size.
import { data } from './data.js';
import { drawn_plant } from './plant_picture.js';
import { drawn_watchdog } from './watchdog_picture.js';

const LEAST = 240; // px: a narrower one could not be read
const SMALLER = 0.8; // on paper, as its tables are: the letters of the plant are then 7.8 points

/** @type {{ [kind: string]: (figures: any, width: number) => unknown }} */
const drawings = { plant: drawn_plant, watchdog: drawn_watchdog };

const places = () =>
  [...document.querySelectorAll('[data-picture]')].flatMap((place) =>
    place instanceof HTMLElement ? [place] : [],
  );

/**
 * As wide as its place is; on paper it is laid out wider and made smaller by the style.
 * @param {HTMLElement} place
 */
function width_of(place) {
  const paper = document.documentElement.classList.contains('on-paper');
  const smaller = paper && place.dataset.picture === 'plant' ? SMALLER : 1;
  return Math.max(LEAST, Math.floor(place.clientWidth / smaller));
}

export function draw_pictures() {
  for (const place of places()) {
    const name = place.dataset.picture ?? '';
    const figures = data[/** @type {keyof typeof data} */ (name)] ?? data.also?.[name];
    const width = width_of(place);
    // drawn anew for nothing, it would lose the focus
    if (!figures || Number(place.dataset.drawn) === width) continue;
    place.dataset.drawn = String(width);
    // of another link of a cell it is "watchdog-2"
    place.innerHTML = String(drawings[name.split('-')[0]](figures, width) ?? '');
  }
}

/** Again whenever a place gets another width. */
export function keep_pictures() {
  const seen = new ResizeObserver(draw_pictures);
  for (const place of places()) seen.observe(place);
}
