// The instructor's talk with the program. The secret stands after # in the address, so it never
// travels in one.
import { post } from '../../pages/ask.js';
import { word_or_itself } from './words.js';

export const secret = location.hash.slice(1);

/**
 * The reply; an Error with the program's words if it refuses.
 * @param {string} path
 * @param {{ [name: string]: unknown }} [fields] to be sent by POST
 */
export async function ask(path, fields) {
  const address = '/api/instructor/' + path;
  const reply = fields
    ? await post(address, fields, secret)
    : await fetch(address, { headers: { 'X-Token': secret } });
  if (reply.ok) return reply;
  const body = await reply.json().catch(() => ({}));
  throw new Error(body.error ? word_or_itself('refusals', body.error) : String(reply.status));
}

/**
 * Saves what the program answers as a file of that name.
 * @param {string} name
 */
export async function save(name) {
  const reply = await ask(name);
  const link = document.createElement('a');
  link.href = URL.createObjectURL(await reply.blob());
  link.download = name;
  link.click();
  URL.revokeObjectURL(link.href);
}
