/**
 * What is on the stand: the tunes as decided, the copies of each chair with their layings, pieces and sheets. A copy is
 * on the shelf only when all of it is here, so that a turn never waits for the network.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').PartView} PartView
 * @typedef {import('./wire.js').Laying} Laying
 * @typedef {import('./wire.js').Pieces} Pieces
 * @typedef {import('./turn.js').Copy} Copy
 * @typedef {import('./store.js').Store} Store
 */
import { laid, rebase, signsOf } from './order.js';
import { rungOf } from './compose.js';
import { USUAL, keptFor } from './staves.js';

/** Files fetched at once; more would only delay the one that is needed first. */
const AT_ONCE = 2;
/** ms before a failed fetch is tried again. */
const AGAIN_AFTER = 1500;

/** @param {string} tune @param {string} chair */
const keyOf = (tune, chair) => `${tune}/${chair}`;

/** Newest revision first; in one revision a tail before the whole. @param {Copy} a @param {Copy} b */
const newestFirst = (a, b) => b.revision - a.revision || b.firstStep - a.firstStep;

export class CopyShelf {
  /** @type {Map<string, Map<number, TuneView>>} */ #tunes = new Map();
  /** @type {Map<string, Copy[]>} */ #copies = new Map();
  /** @type {Map<string, Laying>} */ #layings = new Map();
  /** @type {Map<string, Pieces>} */ #pieces = new Map();
  /** Part views whose copy is not here yet; the newest by tune, chair and kind. @type {Map<string, PartView>} */
  #wanted = new Map();
  /** What was told last of each of these. @type {Map<string, PartView>} */ #told = new Map();
  #running = 0;
  /** Hashes of views that failed, not to be tried at once. @type {Set<string>} */ #resting = new Set();

  /**
   * @param {object} to
   * @param {Store} to.store
   * @param {(kind: 'laying' | 'pieces' | 'sheet', hash: string) => Promise<Response>} to.fetchFile
   * @param {() => number} to.scale device px a mm of this glass
   * @param {(tune: string) => number} to.rank smaller is fetched first
   * @param {(chair: string) => number} to.stave mm chosen
   * @param {(tune: string) => Copy[]} to.held copies that places refer to
   * @param {(copy: Copy) => void} to.stored a copy is here, whole
   * @param {(complete: boolean) => void} to.progress whether everything told is here
   */
  constructor(to) {
    this.to = to;
  }

  /** Bring back what the tablet has. */
  async restore() {
    for (const [key, view] of await this.to.store.all('views')) {
      // What an earlier release kept has less in it.
      if (key.startsWith('tune/')) this.#keepTune({ again: [], folds: [], tacet: [], pickups: [], in_words: [], ...view });
    }
    for (const [key, copies] of await this.to.store.all('copies')) {
      /** @type {Copy[]} */ const whole = [];
      for (const copy of copies) if (await this.load(copy)) whole.push({ keys: copy.order, again: [], version: '', stave: USUAL, ...copy });
      if (whole.length) this.#copies.set(key, whole);
    }
  }

  /** Bring a stored copy into memory. @param {Copy} copy @returns {Promise<boolean>} whether it is there now */
  async load(copy) {
    if (!copy.laying) return true;
    const laying = this.#layings.get(copy.laying) ?? (await this.to.store.get('files', copy.laying));
    const pieces = this.#pieces.get(copy.pieces) ?? (await this.to.store.get('files', copy.pieces));
    if (!laying || !pieces) return false;
    this.#layings.set(copy.laying, laying);
    this.#pieces.set(copy.pieces, pieces);
    return true;
  }

  /** @param {string} tune @returns {TuneView | undefined} the newest */
  tune(tune) {
    const revisions = this.#tunes.get(tune);
    return revisions?.get(Math.max(...revisions.keys()));
  }

  /** All that a chair has of a tune, of every part that it plays. @param {string} tune @param {string} chair @returns {Copy[]} */
  copies(tune, chair) {
    return this.#copies.get(keyOf(tune, chair)) ?? [];
  }

  /** The parts that a chair plays of a tune; none: tacet, or not here yet. @param {string} tune @param {string} chair */
  parts(tune, chair) {
    return [...new Set(this.copies(tune, chair).map((copy) => copy.part).filter(Boolean))].sort();
  }

  /** @param {Copy} copy */
  laying(copy) {
    return this.#layings.get(copy.laying) ?? null;
  }

  /** @param {Copy} copy */
  pieces(copy) {
    return this.#pieces.get(copy.pieces) ?? null;
  }

  /** The pictures that a page is drawn from, by sheet number. @param {Copy} copy @param {Set<number>} sheets @param {number} rung */
  async sheets(copy, sheets, rung) {
    const hashes = this.pieces(copy)?.sheets[rung] ?? [];
    return Promise.all(
      [...sheets].map(async (n) => ({ n, hash: hashes[n], picture: await this.to.store.get('sheets', hashes[n]) })),
    );
  }

  /** @param {TuneView} view */
  #keepTune(view) {
    const revisions = this.#tunes.get(view.tune) ?? new Map();
    revisions.set(view.revision, view);
    for (const revision of [...revisions.keys()].sort((a, b) => b - a).slice(4)) revisions.delete(revision);
    this.#tunes.set(view.tune, revisions);
  }

  /**
   * What is written of a tune is another: what this stand has of it counts in that from now on.
   * @param {TuneView} before
   * @param {TuneView} now
   */
  #rebase(before, now) {
    const names = (/** @type {TuneView} */ view) => view.written.map(([bar, , pass]) => `${bar}/${pass}`).join(' ');
    if (names(before) === names(now)) return;
    const to = rebase(before.written, now.written);
    const kept = [...this.#copies].filter(([, [copy]]) => copy?.tune === now.tune);
    for (const copy of new Set([...kept.flatMap(([, copies]) => copies), ...this.to.held(now.tune)])) {
      copy.order = copy.order.map((position) => to[position]?.position ?? -1);
      copy.keys = copy.keys.map((key) => (to[Math.floor(key)]?.key ?? now.written.length) + (key % 1));
      copy.again = copy.again.map(([first, last, ...more]) => [to[first]?.position ?? -1, to[last]?.position ?? -1, ...more]);
    }
    for (const [key, copies] of kept) void this.to.store.put('copies', key, copies);
  }

  /** A tune as decided now. @param {TuneView} view */
  hearTune(view) {
    const now = this.tune(view.tune);
    // A replaced hub may count anew: then its word replaces all that was known.
    if (now && view.revision < now.revision) this.#tunes.delete(view.tune);
    if (now) this.#rebase(now, view);
    this.#keepTune(view);
    void this.to.store.put('views', `tune/${view.tune}`, view);
    this.work();
  }

  /** What a chair has of a tune. @param {PartView} view */
  hearPart(view) {
    const has = this.copies(view.tune, view.chair).some(
      (copy) =>
        copy.laying === view.laying && copy.revision === view.revision && copy.firstStep === view.first_step &&
        copy.pieces === view.pieces && copy.part === view.part && copy.stave === view.stave,
    );
    const slot = `${keyOf(view.tune, view.chair)}/${view.part}/${view.first_step > 0 ? 'tail' : 'whole'}/${view.stave}`;
    this.#told.set(slot, view);
    if (has && !this.#wanted.delete(slot)) return;
    if (!has) this.#wanted.set(slot, view);
    this.work();
  }

  /** Another height was chosen: what is on its way for one that is not kept any more is not wanted. */
  chosen() {
    for (const [slot, view] of this.#wanted) {
      if (this.#isAhead(view) && !keptFor(this.to.stave(view.chair)).includes(view.stave)) this.#wanted.delete(slot);
    }
    this.work();
  }

  /** Whether a view is only for a height that the player may change to. @param {PartView} view */
  #isAhead(view) {
    return view.laying !== '' && !view.as_printed && view.stave !== this.to.stave(view.chair);
  }

  /** How many tunes of a set are not here whole, for every one of these chairs. @param {{tune: string}[]} set @param {string[]} chairs */
  storedOf(set, chairs) {
    const lacks = (/** @type {string} */ tune) => chairs.some((chair) => !this.has(tune, chair));
    return { missing: set.filter(({ tune }) => lacks(tune)).length, tunes: set.length };
  }

  /** Whether a chair has all of a tune here, tacet or not; heights to change to are not counted. @param {string} tune @param {string} chair */
  has(tune, chair) {
    const wanted = [...this.#wanted.values()].some((view) => view.tune === tune && view.chair === chair && !this.#isAhead(view));
    return !wanted && this.copies(tune, chair).length > 0;
  }

  /** Whether everything that the hub told of is here. */
  get complete() {
    return this.#wanted.size === 0;
  }

  /** Fetch what is wanted, the most needed first. */
  work() {
    while (this.#running < AT_ONCE) {
      const next = [...this.#wanted]
        .filter(([, view]) => !this.#resting.has(`${view.laying}/${view.revision}`) && this.#orderOf(view))
        .sort(([, a], [, b]) => Number(this.#isAhead(a)) - Number(this.#isAhead(b)) || this.to.rank(a.tune) - this.to.rank(b.tune) || b.first_step - a.first_step)[0];
      if (!next) break;
      this.#running++;
      const [slot, view] = next;
      const name = `${view.laying}/${view.revision}`;
      this.#resting.add(name);
      this.#bring(view)
        .then(
          (copy) => {
            this.#resting.delete(name);
            if (this.#wanted.get(slot) === view) this.#wanted.delete(slot);
            // What was told since is here already: this one came late.
            if (this.#told.get(slot) === view || this.#wanted.has(slot)) this.#put(copy);
          },
          () => void setTimeout(() => (this.#resting.delete(name), this.work()), AGAIN_AFTER),
        )
        .finally(() => {
          this.#running--;
          this.work();
        });
    }
    this.to.progress(this.complete);
  }

  /** The order that a part's steps count in; undefined while the tune's view of that revision is not here. @param {PartView} view */
  #orderOf(view) {
    const tune = this.#tunes.get(view.tune)?.get(view.revision);
    return tune && laid(tune);
  }

  /** @param {PartView} view @returns {Promise<Copy>} */
  async #bring(view) {
    const order = this.#orderOf(view) ?? [];
    /** @type {Copy} */
    const copy = {
      tune: view.tune,
      chair: view.chair,
      revision: view.revision,
      title: view.title,
      part: view.part,
      laying: view.laying,
      pieces: view.pieces,
      firstStep: view.first_step,
      order: order.map(({ position }) => position),
      keys: order.map(({ key }) => key),
      again: signsOf(this.#tunes.get(view.tune)?.get(view.revision)),
      asPrinted: view.as_printed,
      told: [...view.told],
      version: view.version,
      stave: view.stave,
    };
    if (!view.laying) return copy;
    /** @type {Laying} */ const laying = await this.#file('laying', view.laying);
    /** @type {Pieces} */ const pieces = await this.#file('pieces', view.pieces);
    const rung = rungOf(laying, pieces, this.to.scale());
    for (const hash of pieces.sheets[rung] ?? []) {
      if (await this.to.store.has('sheets', hash)) continue;
      const answer = await this.to.fetchFile('sheet', hash);
      if (!answer.ok) throw new Error(`Sheet ${hash}: ${answer.status}`);
      await this.to.store.put('sheets', hash, await answer.blob());
    }
    this.#layings.set(view.laying, laying);
    this.#pieces.set(view.pieces, pieces);
    return copy;
  }

  /** @param {'laying' | 'pieces'} kind @param {string} hash @returns {Promise<any>} */
  async #file(kind, hash) {
    const kept = this.#layings.get(hash) ?? this.#pieces.get(hash) ?? (await this.to.store.get('files', hash));
    if (kept) return kept;
    const answer = await this.to.fetchFile(kind, hash);
    if (!answer.ok) throw new Error(`File ${hash}: ${answer.status}`);
    const file = await answer.json();
    await this.to.store.put('files', hash, file);
    return file;
  }

  /** @param {Copy} copy */
  #put(copy) {
    const key = keyOf(copy.tune, copy.chair);
    const tail = copy.firstStep > 0;
    const newest = this.tune(copy.tune)?.revision ?? copy.revision;
    const chosen = this.to.stave(copy.chair);
    const others = this.copies(copy.tune, copy.chair).filter((other) => {
      // Tacet and a part shut each other out; a chair's other parts are left alone.
      if (other.part !== copy.part) return Boolean(other.part && copy.part);
      if (other.stave !== copy.stave && !other.asPrinted && !copy.asPrinted) {
        // Until the chosen height is here, any other is better than none.
        return copy.stave !== chosen || keptFor(chosen).includes(other.stave);
      }
      return other.firstStep > 0 !== tail && (other.firstStep === 0 || other.revision >= Math.min(newest, copy.revision));
    });
    const copies = [copy, ...others].sort(newestFirst);
    this.#copies.set(key, copies);
    void this.to.store.put('copies', key, copies);
    this.to.stored(copy);
  }

  /**
   * Forget what no copy and no place needs any more.
   * @param {() => Copy[]} held copies that places still refer to
   */
  async sweep(held) {
    const kept = await Promise.all([this.to.store.keys('files'), this.to.store.keys('sheets')]);
    // While the store was asked more may have come, or be on its way; what is decided from here on is not interrupted.
    if (!this.complete || this.#running) return;
    const copies = [...this.#copies.values()].flat().concat(held());
    const files = new Set(copies.flatMap((copy) => [copy.laying, copy.pieces]));
    const sheets = new Set([...files].flatMap((hash) => this.#pieces.get(hash)?.sheets.flat() ?? []));
    for (const hash of [...this.#layings.keys()]) if (!files.has(hash)) this.#layings.delete(hash);
    for (const hash of [...this.#pieces.keys()]) if (!files.has(hash)) this.#pieces.delete(hash);
    await Promise.all([
      this.to.store.remove('files', kept[0].filter((hash) => !files.has(hash))),
      this.to.store.remove('sheets', kept[1].filter((hash) => !sheets.has(hash))),
    ]);
  }
}
