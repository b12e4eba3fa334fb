// The desk's page: shows what the program says, and brings it what was typed and pressed.
import { get } from '../../pages/ask.js';
import { draw } from '../../pages/draw.js';
import { element, put, put_text } from '../../pages/lay_over.js';
import { listen_to_people } from './acts.js';
import { changed, looking } from './looking.js';
import { watch_top } from './sections.js';
import { narrow, show } from './show.js';
import { desk, enter, look_after, when_news, when_seen } from './talk.js';
import { t } from './texts.js';
import { still } from './ways.js';

const LOOK_EVERY_MS = 500;
let asks_text = false;

put_text('skip-typed', t('skip-typed'));
put_text('skip-try', t('skip-try'));
element('actions', HTMLElement).setAttribute('aria-label', t('actions'));
element('truth', HTMLElement).setAttribute('aria-label', t('truth-line'));
put('main', draw`<p class="moment">${t('moment')}</p>`);

function draw_anew() {
  changed();
  show();
}

/** The text of a file that does not parse is asked for once. */
async function fetch_text() {
  if (!desk.told?.file.broken) looking.text = null;
  else if (looking.text === null && !asks_text) {
    asks_text = true;
    looking.text = (await get('/api/text'))?.text ?? null;
    asks_text = false;
    if (looking.text !== null) draw_anew();
  }
}

when_news(() => {
  show();
  fetch_text();
});
listen_to_people();
watch_top();
for (const query of [narrow, still]) query.addEventListener('change', draw_anew);
addEventListener('resize', draw_anew);
document.addEventListener('visibilitychange', when_seen);
setInterval(look_after, LOOK_EVERY_MS);
enter();
