// An event stream that is taken up again after it was lost.
// It tells all at first, and then what has changed.
import { changed } from './changes.js';

const TRY_AGAIN_MS = 3000;
const LOST_MS = 4000; // until the next try, where one is under way

/** What a page hears of a server that tells it all a few times a second. */
export class LiveStream {
  /** @type {EventSource | null} */
  #source = null;
  /** @type {number | null} */
  #try_at = null;
  #path;
  #take;
  /** @type {any} what was told last */
  #last = null;

  /**
   * @param {string} path
   * @param {(told: any) => void} take gets how things stand, each time whole
   */
  constructor(path, take) {
    this.#path = path;
    this.#take = take;
  }

  get open() {
    return this.#source !== null;
  }
  /**
   * @returns {number | null} when it is tried again, in ms since 1970, or null if nothing is lost
   */
  get try_at() {
    return this.#try_at;
  }

  listen() {
    this.#source?.close();
    this.#source = new EventSource(this.#path);
    this.#source.onmessage = (message) => this.#tell(JSON.parse(message.data));
    this.#source.addEventListener('changes', (message) =>
      this.#tell(changed(this.#last, JSON.parse(message.data))),
    );
    this.#source.onerror = () => this.lose();
  }
  /** @param {any} now */
  #tell(now) {
    this.#try_at = null;
    this.#last = now;
    this.#take(now);
  }
  close() {
    this.#source?.close();
    this.#source = null;
  }
  /** The server does not answer: to be tried again soon. */
  lose() {
    this.close();
    this.#try_at ??= Date.now() + TRY_AGAIN_MS;
  }
  /** It is due, and this call is the one that tries: the next is due only later. */
  take_try() {
    if (this.#try_at === null || Date.now() < this.#try_at) return false;
    this.#try_at = Date.now() + LOST_MS;
    return true;
  }
  /**
   * The server answered a try, or not.
   * @param {boolean} answered
   */
  tried(answered) {
    this.#try_at = answered ? null : Date.now() + TRY_AGAIN_MS;
  }
}
