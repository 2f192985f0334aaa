/**
 * What the desk asks of the hub over HTTP, with the librarian's code. Whatever goes wrong is one sentence.
 *
 * @typedef {import('./desk-things.js').Reading} Reading
 * @typedef {import('./wire.js').Said} Said
 * @typedef {object} PartRow
 * @property {string} part
 * @property {string} name
 * @property {string[]} chairs
 * @property {string} file_name
 * @property {number} pages
 * @property {number} bars
 * @property {boolean} pickup
 * @property {string[]} marks
 * @property {boolean} as_printed
 * @property {string[]} doubts
 * @property {string[]} differs
 * @property {number} corrections
 * @property {number} paper_mm
 * @property {number} whole_mm
 * @property {number} laid_mm
 * @typedef {{tune: string, title: string, bars: number, parts: PartRow[]}} TuneRows
 * @typedef {{id: string, words: string, said: Said}} CorrectionRow
 * @typedef {{words: string, at: import('./wire.js').OnPage | null, does: string, said: Said | null}} Differing
 * @typedef {{tune: string, title: string, row: PartRow, version: string, reading: Reading, corrections: CorrectionRow[], mending: boolean, differing: Differing[], legible: string}} OpenPart
 * @typedef {{laying: string, pieces: string, why: string}} LaidPart
 * @typedef {{tune?: string, chair?: string, as_new?: boolean, take?: boolean}} Told
 */
import { HUB_AWAY } from './outbox.js';

export class DeskHub {
  /** @param {() => string[]} codes the codes that this device knows; the librarian's is among them */
  constructor(codes) {
    this.codes = codes;
    /** The code that the hub took. */
    this.code = '';
  }

  /** @param {string} path @param {RequestInit} [how] @returns {Promise<Response>} */
  async #ask(path, how = {}) {
    const codes = this.code ? [this.code] : this.codes();
    let why = 'Only the librarian may: say the librarian’s code at the door.';
    for (const code of codes.reverse()) {
      /** @type {Response} */ let answer;
      try {
        answer = await fetch(path, { ...how, headers: { ...how.headers, Authorization: `Bearer ${code}` }, cache: 'no-store' });
      } catch {
        throw new Error(HUB_AWAY);
      }
      if (answer.ok) {
        this.code = code;
        return answer;
      }
      why = (await answer.text()).trim() || why;
      if (answer.status !== 401) break;
      this.code = '';
    }
    throw new Error(why);
  }

  /** @returns {Promise<TuneRows[]>} */
  async library() {
    return (await this.#ask('/desk/library')).json();
  }

  /** @param {string} tune @param {string} part */
  #of(tune, part) {
    return `/desk/part/${encodeURIComponent(tune)}/${encodeURIComponent(part)}`;
  }

  /** @param {string} tune @param {string} part @param {number} cm from eye to page @returns {Promise<OpenPart>} */
  async part(tune, part, cm) {
    return (await this.#ask(`${this.#of(tune, part)}?cm=${cm}`)).json();
  }

  /** @param {string} tune @param {string} part @param {number} page @param {number} wide px */
  async picture(tune, part, page, wide) {
    return (await this.#ask(`${this.#of(tune, part)}/page/${page}?wide=${wide}`)).blob();
  }

  /** @param {string} tune @param {string} part @returns {Promise<LaidPart>} */
  async laid(tune, part) {
    return (await this.#ask(`${this.#of(tune, part)}/laid`)).json();
  }

  /** Send a file in; its id. @param {File} file @param {string} folders the innermost first, by "/" @returns {Promise<string>} */
  async send(file, folders) {
    const query = new URLSearchParams({ name: file.name, folders });
    return (await (await this.#ask(`/desk/file?${query}`, { method: 'POST', body: file })).json()).id;
  }

  /** @param {string} path @param {object} body */
  async #post(path, body) {
    await this.#ask(path, { method: 'POST', body: JSON.stringify(body) });
  }

  /** @param {string[]} files @param {Told} [told] */
  bring(files, told = {}) {
    return this.#post('/desk/bring', { files, ...told });
  }

  /** @param {string[]} files */
  putAway(files) {
    return this.#post('/desk/put-away', { files });
  }

  /** Bring a part's own file in again, for another tune or chair. @param {string} tune @param {string} part @param {Told} told */
  again(tune, part, told) {
    return this.#post(`${this.#of(tune, part)}/again`, { files: [], ...told });
  }
}
