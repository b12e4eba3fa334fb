// An event stream that all windows of a browser share: one of them listens and tells the others
// what it hears, since a browser has only few connections to one host.
import { changed } from './changes.js';

const TRY_AGAIN_MS = 3000;
const LOST_MS = 4000; // until the next try, where one is under way

/**
 * What one window tells the others, word for word as the program told it.
 * @typedef {{ kind: 'asks' } | { kind: 'all' | 'changes', data: string }} Word
 */

export class SharedStream {
  /** @type {EventSource | null} of the window that listens */
  #source = null;
  /** @type {BroadcastChannel | null} */
  #channel = null;
  /** @type {AbortController | null} of the turn that this window waits for */
  #waiting = null;
  /** @type {(() => void) | null} gives the turn to the next window */
  #give_turn = null;
  /** @type {number | null} */
  #try_at = null;
  /** Whoever listens says nothing: it is to be taken from that window. */
  #is_silent = false;
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
    return this.#channel !== null;
  }
  /**
   * @returns {number | null} when it is tried again, in ms since 1970, or null if nothing is lost
   */
  get try_at() {
    return this.#try_at;
  }

  /** Hears what is told from now on: from the program, or from the window that listens to it. */
  listen() {
    this.close();
    this.#last = null;
    const channel = new BroadcastChannel(this.#path);
    this.#channel = channel;
    channel.onmessage = ({ data }) => this.#hear(data);
    const waiting = new AbortController();
    this.#waiting = waiting;
    const steal = this.#is_silent;
    this.#is_silent = false;
    navigator.locks
      .request(this.#path, steal ? { steal } : { signal: waiting.signal }, () =>
        this.#channel === channel ? this.#lead(channel) : undefined,
      )
      // it was taken by another window, or not waited for any more
      .catch(() => this.#channel === channel && this.#source && this.listen());
    channel.postMessage({ kind: 'asks' });
  }

  /** It is this window's turn, until the promise is kept. @param {BroadcastChannel} channel */
  #lead(channel) {
    const source = new EventSource(this.#path);
    this.#source = source;
    source.onmessage = ({ data }) => this.#pass_on(channel, { kind: 'all', data });
    source.addEventListener('changes', ({ data }) =>
      this.#pass_on(channel, { kind: 'changes', data }),
    );
    source.onerror = () => this.lose();
    return new Promise((done) => {
      this.#give_turn = () => done(undefined);
    });
  }

  /** @param {BroadcastChannel} channel @param {{ kind: 'all' | 'changes', data: string }} word */
  #pass_on(channel, word) {
    channel.postMessage(word);
    this.#tell(word);
  }

  /** @param {Word} word */
  #hear(word) {
    if (word.kind !== 'asks') {
      if (!this.#source) this.#tell(word);
    } else if (this.#source && this.#last !== null)
      this.#channel?.postMessage({ kind: 'all', data: JSON.stringify(this.#last) });
  }

  /** @param {{ kind: 'all' | 'changes', data: string }} word */
  #tell({ kind, data }) {
    if (kind === 'changes' && this.#last === null) return; // all of it comes soon
    const told = JSON.parse(data);
    this.#last = kind === 'all' ? told : changed(this.#last, told);
    this.#try_at = null;
    this.#take(this.#last);
  }

  close() {
    this.#source?.close();
    this.#source = null;
    this.#channel?.close();
    this.#channel = null;
    this.#waiting?.abort();
    this.#waiting = null;
    this.#give_turn?.();
    this.#give_turn = null;
  }

  /** The program does not answer, or who listens to it does not: to be tried again soon. */
  lose() {
    this.#is_silent ||= this.#channel !== null && this.#source === null;
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
