/**
 * Files that come in: chosen or dropped, sent one after the other, and what became of each.
 *
 * @typedef {import('./desk-hub.js').DeskHub} DeskHub
 * @typedef {import('./desk-hub.js').Told} Told
 * @typedef {import('./wire.js').CameRow} CameRow
 * @typedef {import('./wire.js').DeskView} DeskView
 */
import { h, key } from './dom.js';

/** A file, and the folders that it lay in, the innermost first. @typedef {{file: File, folders: string}} Found */

export class DeskComing {
  element = h('section.desk-coming', { 'aria-label': 'Coming in' });
  /** @type {DeskView} */ #view = { type: 'desk', seq: 0, came: [], done: 0, of: 0, what: '', mending: [], said: '' };
  #sent = 0;
  #sending = 0;
  /** Sentences about files that the hub did not take. @type {string[]} */ #refused = [];
  /** What was typed for a question, by file. @type {Map<string, Told>} */ #told = new Map();
  #parts = { zone: h('div.desk-zone'), progress: h('div.desk-progress', { role: 'status' }), rows: h('div.desk-came', { role: 'list' }) };

  /**
   * @param {DeskHub} hub
   * @param {object} to
   * @param {(words: string) => void} to.say
   */
  constructor(hub, to) {
    this.hub = hub;
    this.to = to;
    const { zone, progress, rows } = this.#parts;
    this.element.append(zone, progress, rows);
    zone.replaceChildren(
      h('p', {}, 'Drop PDFs, a tune’s score as MusicXML, or folders here, or choose them.'),
      h('div.desk-kinds', {}, this.#chooser('Choose files', 'files'), this.#chooser('Choose a folder', 'folder')),
    );
    zone.ondragover = (event) => {
      event.preventDefault();
      zone.dataset.over = 'true';
    };
    zone.ondragleave = () => delete zone.dataset.over;
    zone.ondrop = (event) => {
      event.preventDefault();
      delete zone.dataset.over;
      void dropped(event.dataTransfer).then((found) => this.send(found));
    };
  }

  /** @param {string} words @param {'files' | 'folder'} what */
  #chooser(words, what) {
    const input = /** @type {HTMLInputElement} */ (h('input', { type: 'file', multiple: true, hidden: true, 'data-field': what }));
    if (what === 'folder') input.webkitdirectory = true;
    else input.accept = 'application/pdf,.pdf,.musicxml,.mxl,.xml';
    input.onchange = () => {
      const found = [...(input.files ?? [])].map((file) => ({ file, folders: file.webkitRelativePath.split('/').slice(0, -1).reverse().join('/') }));
      input.value = '';
      void this.send(found);
    };
    return h('span', {}, input, key(words, () => input.click(), { 'data-do': `choose-${what}`, className: 'key strong' }));
  }

  /** Send files in and have them brought in together. @param {Found[]} found */
  async send(found) {
    const wanted = found.filter(({ file }) => !file.name.startsWith('.'));
    this.#sending += wanted.length;
    this.#refused = [];
    /** @type {string[]} */ const ids = [];
    for (const { file, folders } of wanted) {
      try {
        ids.push(await this.hub.send(file, folders));
      } catch (error) {
        this.#refused.push(error instanceof Error ? error.message : String(error));
      }
      this.#sent++;
      this.#drawProgress();
    }
    if (ids.length) await this.#try(() => this.hub.bring(ids));
    this.#sent = this.#sending = 0;
    this.draw();
  }

  /** @param {() => Promise<void>} work */
  async #try(work) {
    try {
      await work();
    } catch (error) {
      this.to.say(error instanceof Error ? error.message : String(error));
    }
  }

  /** @param {DeskView} view */
  hear(view) {
    this.#view = view;
    this.draw();
  }

  /** How many wait for an answer. */
  get questions() {
    return this.#view.came.filter((row) => row.became === 'question').length;
  }

  #drawProgress() {
    const { done, of, what } = this.#view;
    const sending = this.#sending > 0;
    const words = sending ? `Sending ${Math.min(this.#sent + 1, this.#sending)} of ${this.#sending}` : of ? `${done} of ${of}: ${what}` : '';
    const bar = h('progress', { max: sending ? this.#sending : of || 1, value: sending ? this.#sent : done, 'aria-label': 'Coming in' });
    this.#parts.progress.replaceChildren(...(words ? [h('p', {}, words), bar] : []), ...this.#refused.map((why) => h('p.why', {}, why)));
  }

  draw() {
    this.#drawProgress();
    const { rows } = this.#parts;
    // A field that is being typed in stays.
    if (rows.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement) return;
    const { came } = this.#view;
    const settled = came.filter((row) => !['question', 'waiting', 'being read', 'being cut'].includes(row.became));
    const clear = key('Clear the list', () => void this.#try(() => this.hub.putAway([...new Set(settled.map((row) => row.id))])), { 'data-do': 'clear' });
    rows.replaceChildren(...[...came].reverse().map((row) => this.#row(row)), ...(settled.length ? [clear] : []));
  }

  /** @param {CameRow} row */
  #row(row) {
    const { file, became, title, part, why, doubts, bars, marks } = row;
    const counted = bars ? `${bars} bars, ${marks} marks` : '';
    return h(
      'div.desk-row',
      { role: 'listitem', 'data-became': became, 'data-file': file },
      h('p.desk-name', {}, h('b', {}, part || '?'), h('span', {}, title || file)),
      h('p.quiet', {}, [became, counted, file].filter(Boolean).join(' · ')),
      ...(why ? [h('p.why', {}, why)] : []),
      ...doubts.map((doubt) => h('p.quiet', {}, doubt)),
      ...(became === 'question' ? [this.#question(row)] : []),
    );
  }

  /** @param {CameRow} row */
  #question({ id, title, part }) {
    const told = this.#told.get(id) ?? { tune: title, chair: part };
    this.#told.set(id, told);
    const input = (/** @type {'tune' | 'chair'} */ what) => {
      const field = /** @type {HTMLInputElement} */ (h('input', { value: told[what] ?? '', 'data-field': `told-${what}` }));
      field.oninput = () => (told[what] = field.value);
      field.onkeydown = (event) => event.stopPropagation();
      return field;
    };
    const bring = (/** @type {Told} */ more) => () => {
      if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
      void this.#try(() => this.hub.bring([id], { ...told, ...more }));
    };
    return h(
      'div.desk-where',
      {},
      h('label', {}, 'Tune', input('tune')),
      h('label', {}, 'Chair', input('chair')),
      key('Bring it in', bring({ take: true }), { 'data-do': 'answer', className: 'key strong' }),
      key('As one more part', bring({ as_new: true }), { 'data-do': 'answer-new' }),
      key('Put it away', () => void this.#try(() => this.hub.putAway([id])), { 'data-do': 'put-away' }),
    );
  }
}

/** The files of a drop, folders gone into. @param {DataTransfer | null} drop @returns {Promise<Found[]>} */
async function dropped(drop) {
  const entries = [...(drop?.items ?? [])].map((item) => item.webkitGetAsEntry()).filter((entry) => entry !== null);
  if (!entries.length) return [...(drop?.files ?? [])].map((file) => ({ file, folders: '' }));
  return (await Promise.all(entries.map((entry) => within(entry, [])))).flat();
}

/** @param {FileSystemEntry} entry @param {string[]} folders @returns {Promise<Found[]>} */
async function within(entry, folders) {
  if (entry.isFile) {
    const file = await new Promise((found, lost) => /** @type {FileSystemFileEntry} */ (entry).file(found, lost)).catch(() => null);
    return file ? [{ file, folders: folders.join('/') }] : [];
  }
  const reader = /** @type {FileSystemDirectoryEntry} */ (entry).createReader();
  /** @type {Found[]} */ const found = [];
  // A reader gives some entries at a time, none at the end.
  for (;;) {
    const some = await new Promise((got, lost) => reader.readEntries(got, lost)).catch(() => []);
    if (!some.length) return found;
    for (const one of some) found.push(...(await within(one, [entry.name, ...folders])));
  }
}
