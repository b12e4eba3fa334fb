// The trainee's page: shows what the trainer's computer says, and brings it what was pressed.
import { get, pause } from '../../pages/ask.js';
import { draw } from '../../pages/draw.js';
import { element, put, put_text } from '../../pages/lay_over.js';
import { hold, listen_to_people, open_tab } from './acts.js';
import { listen_to_keys } from './keys.js';
import { drill_shown, enter, stream, try_again, when_news } from './session.js';
import { show } from './show.js';
import { t } from './texts.js';
import { learn } from './words.js';

const LOOK_EVERY_MS = 500;
const ASK_AGAIN_MS = 3000;

document.title = t('title');
put_text('book', t('title'));
put_text('skip-bench', t('skip-bench'));
put_text('skip-question', t('skip-question'));
element('ways', HTMLElement).setAttribute('aria-label', t('pages'));
put('main', draw`<p>${t('moment')}</p>`);

let words;
while (!(words = await get('/api/words'))) await pause(ASK_AGAIN_MS);
learn(words);

when_news(show);
listen_to_people();
listen_to_keys(hold, open_tab);
addEventListener('resize', show);
setInterval(() => {
  if (stream.take_try()) try_again();
  else if (stream.try_at !== null || drill_shown()) show();
}, LOOK_EVERY_MS);
enter();
