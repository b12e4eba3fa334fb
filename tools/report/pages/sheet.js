// What is typed into a sheet goes into the page itself, and with it into the file that is saved: it
// is kept nowhere else, and nothing leaves the page.

let changed = false;

/**
 * A text stands beside its field too, for paper, where a field would cut it off.
 * @param {HTMLTextAreaElement} field
 */
function take_text(field) {
  field.textContent = field.value;
  let beside = field.nextElementSibling;
  if (!beside && field.value) {
    beside = document.createElement('span');
    beside.className = 'typed';
    field.after(beside);
  }
  if (beside && !field.value) beside.remove();
  else if (beside) beside.textContent = field.value;
  field.rows = 1;
  while (field.scrollHeight > field.clientHeight && field.rows < 40) ++field.rows;
}

/** @param {HTMLInputElement} button */
function take_choice(button) {
  for (const other of document.getElementsByName(button.name))
    if (other instanceof HTMLInputElement) other.toggleAttribute('checked', other.checked);
}

document.addEventListener('input', ({ target }) => {
  changed = true;
  if (target instanceof HTMLTextAreaElement) take_text(target);
  if (target instanceof HTMLInputElement) take_choice(target);
});

/** @param {number} n */
const two = (n) => String(n).padStart(2, '0');

function today() {
  const now = new Date();
  const day = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  return `${day} ${two(now.getHours())}:${two(now.getMinutes())}`;
}

addEventListener('beforeprint', () => {
  const printed = document.getElementById('printed');
  if (printed) printed.textContent = today();
});

function save() {
  const name = document.title.replace(/[^A-Za-z0-9]+/g, '_').toLowerCase() + '.html';
  const page = '<!DOCTYPE html>\n' + document.documentElement.outerHTML;
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([page], { type: 'text/html' }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  changed = false;
  const status = document.getElementById('saved');
  if (!status) return;
  const before = status.textContent;
  status.textContent = `Given to the browser as ${name}.`;
  setTimeout(() => (status.textContent = before), 5000);
}

document.getElementById('save')?.addEventListener('click', save);

addEventListener('beforeunload', (event) => {
  if (changed) event.preventDefault();
});
