// Asking the program that serves the page.

/**
 * What it answers to a GET, as JSON; null if it does not answer, or refuses.
 * @param {string} path
 * @returns {Promise<any>}
 */
export async function get(path) {
  try {
    const reply = await fetch(path);
    return reply.ok ? await reply.json() : null;
  } catch {
    return null;
  }
}

/**
 * A form sent by POST; a token says that a page of the program sends it.
 * @param {string} path
 * @param {{ [name: string]: unknown }} fields
 * @param {string} token
 */
export const post = (path, fields, token) =>
  fetch(path, {
    method: 'POST',
    headers: { 'X-Token': token },
    body: new URLSearchParams(Object.entries(fields).map(([name, value]) => [name, String(value)])),
  });

/** @param {number} ms */
export const pause = (ms) => new Promise((done) => setTimeout(done, ms));
