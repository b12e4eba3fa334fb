// Templates of HTML in which everything is text but what was drawn: there is no way past the
// escaping.

/**
 * Attributes of an element: true stands for one without a value, what is false, null or undefined
 * is left out.
 * @typedef {{ [name: string]: string | number | boolean | null | undefined }} Attributes
 */

const escaped = (/** @type {unknown} */ text) =>
  String(text).replace(/[&<>"']/g, (c) => '&#' + c.charCodeAt(0) + ';');

/** Marks what is drawn already. Only draw() makes one, so the class stays in here. */
class Drawn {
  /** @param {string} html */
  constructor(html) {
    this.html = html;
  }
  toString() {
    return this.html;
  }
}
/** @typedef {Drawn} Drawing */

/** @param {Attributes} all */
function attributes(all) {
  const drawn = [];
  for (const [name, value] of Object.entries(all)) {
    // a handler is no text, whatever is escaped in it
    if (!/^[a-z][a-z0-9-]*$/i.test(name) || /^on/i.test(name))
      throw new Error(`"${name}" is no name of an attribute that may be drawn`);
    if (value === false || value === null || value === undefined) continue;
    drawn.push(value === true ? name : `${name}="${escaped(value)}"`);
  }
  return drawn.join(' ');
}

/** @param {unknown} value @returns {string} */
function content(value) {
  if (value instanceof Drawn) return value.html;
  if (Array.isArray(value)) return value.map(content).join('');
  if (value === null || value === undefined || value === false) return '';
  if (typeof value === 'object') throw new Error('an object of attributes stands outside of a tag');
  return escaped(value);
}

/** @param {unknown} value */
function quoted(value) {
  if (typeof value === 'string' || typeof value === 'number') return escaped(value);
  throw new Error(`what stands in quotes is a text or a number, not ${String(value)}`);
}

/** @param {unknown} value */
function in_tag(value) {
  if (
    typeof value === 'object' &&
    value !== null &&
    !Array.isArray(value) &&
    !(value instanceof Drawn)
  )
    return attributes(/** @type {Attributes} */ (value));
  throw new Error('in a tag only an object of attributes can stand');
}

/**
 * What may stand in each place of a template: between tags, in the quotes of an attribute, or in a
 * tag.
 * @param {readonly string[]} parts
 */
function makers_of(parts) {
  const makers = [];
  let html = '';
  for (const part of parts.slice(0, -1)) {
    html += part;
    const tag = /<[^<>"]*(?:"[^"]*"[^<>"]*)*("[^"]*)?$/.exec(html);
    if (!tag) makers.push(content);
    else if (tag[1] === undefined && /\s$/.test(html)) makers.push(in_tag);
    else if (tag[1] !== undefined) makers.push(quoted);
    else
      throw new Error(
        `nothing can be filled in after ${tag[0]}: write quotes, or a space before attributes`,
      );
    html += '_';
  }
  return makers;
}
/** Templates are looked at once: each place in the source has its own array of parts. */
const known = new WeakMap();

/**
 * A template of HTML. Between tags what is drawn is taken as it is, a list one by one, all else is
 * text; in quotes
 * stand texts and numbers; in a tag an object of attributes.
 * @param {TemplateStringsArray} parts
 * @param {unknown[]} values
 */
export function draw(parts, ...values) {
  let makers = known.get(parts);
  if (!makers) known.set(parts, (makers = makers_of(parts)));
  let html = parts[0];
  for (let i = 0; i < values.length; ++i) html += makers[i](values[i]) + parts[i + 1];
  return new Drawn(html);
}
