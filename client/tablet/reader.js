/**
 * The player's page: follows calls, turns, keeps the pages around ready, and tells the hub how far it got. Nothing
 * moves under the eyes: only a call, a "from" or the player's own turn changes the visible page.
 *
 * @typedef {import('./turn.js').Place} Place
 * @typedef {import('./turn.js').Copy} Copy
 * @typedef {import('./wire.js').PositionView} PositionView
 * @typedef {import('./wire.js').TuneView} TuneView
 */
import { rungOf, sheetsOf } from './compose.js';
import { lackOf, lacksCalled } from './lacking.js';
import { inLull, onceSeen } from './moments.js';
import { positionOf } from './order.js';
import { Overlay } from './overlay.js';
import { isLaidFor } from './page-shape.js';
import { Progress } from './progress.js';
import { atHeight } from './staves.js';
import { backward, barLookedAt, firstPosition, follow, hasTurned, laidAnew, onward, placeIn, placeOfCall } from './turn.js';

/** ms that a call waits for a pen that is down. */
const PEN_PATIENCE = 1000;
/** Calls whose page is remembered, for taking back. */
const REMEMBERED = 6;

export class Reader {
  /** @type {Place | null} */ place = null;
  /** The call that this stand followed last. */ call = -1;
  /** Where this stand was when a call ended. @type {Map<number, Place>} */ #was = new Map();
  /** The call whose bar was not here when it came. */ #waitsFor = -1;
  /** @type {Progress} */ #progress;
  #composing = false;
  /** Where a turn leads from the place, worked out before it is asked for. @type {{from: Place, on: Place | null, back: Place | null} | null} */
  #turns = null;
  /** Whether this stand has moved since its place was stored. */ #moved = false;
  /** Key of the bar that stays in sight while heights are tried. @type {number | null} */ #kept = null;

  /**
   * @param {object} to
   * @param {import('./shelf.js').CopyShelf} to.shelf
   * @param {import('./room.js').Room} to.room
   * @param {import('./session.js').Session} to.session
   * @param {import('./glass.js').Glass} to.glass
   * @param {import('./composer.js').Composer} to.composer
   * @param {import('./store.js').Store} to.store
   * @param {() => import('./page-shape.js').Shape} to.shape
   * @param {() => import('./look.js').Look} to.look
   * @param {(place: Place) => HTMLElement} to.card what is shown where there is no page
   * @param {() => Promise<void> | null} to.penUp resolves when the pen that is down leaves; null when none is
   * @param {() => void} to.moved after the place or what is on the glass changed
   */
  constructor(to) {
    this.to = to;
    this.over = new Overlay(to, (place) => this.#calledIn(place), (place) => lackOf(this.shelf, place));
    /** @type {import('./turn.js').Shelf} */
    this.shelf = {
      tune: (tune) => to.shelf.tune(tune),
      copies: (tune, chair) => this.#copiesOf(tune, chair),
      laying: (copy) => to.shelf.laying(copy),
      chair: (tune) => this.#chairFor(tune),
      after: (row) => to.room.after(row),
    };
    this.#progress = new Progress(to.session, this.shelf, () => ({ place: this.place, call: this.call, position: to.room.position }));
    this.chair = '';
    /** The part last chosen where a chair plays several. */
    this.part = '';
  }

  /** Copies of the part that is shown of a tune, at the height that was chosen. @param {string} tune @param {string} chair */
  #copiesOf(tune, chair) {
    const parts = this.to.shelf.parts(tune, chair);
    const part = parts.includes(this.part) ? this.part : (parts[0] ?? '');
    return atHeight(this.to.shelf.copies(tune, chair).filter((copy) => copy.part === part), this.to.session.staveOf(chair));
  }

  /** What this stand can show of a tune: each chair's parts, or the chair alone. @param {string} tune */
  choices(tune) {
    return this.to.session.self.chairs.flatMap((chair) => {
      const parts = this.to.shelf.parts(tune, chair);
      return (parts.length ? parts : ['']).map((part) => ({ chair, part }));
    });
  }

  /** The chair whose part is shown: the chosen one, unless only another of this stand's has something to play. @param {string} tune */
  #chairFor(tune) {
    const { chairs } = this.to.session.self;
    const order = chairs.includes(this.chair) ? [this.chair, ...chairs.filter((one) => one !== this.chair)] : chairs;
    return order.find((chair) => this.to.shelf.copies(tune, chair).some((copy) => copy.laying)) ?? order[0] ?? '';
  }

  async restore() {
    const here = await this.to.store.get('self', 'here');
    if (!here) return;
    this.call = here.call;
    this.chair = here.chair;
    this.part = here.part ?? '';
    this.#was = new Map(here.was);
    // What an earlier release kept says nothing of rows.
    this.place = here.place && { ...here.place, item: here.place.item ?? '' };
    for (let place = this.place; place; place = place.prior) if (place.copy) await this.to.shelf.load(place.copy);
    if (this.place?.copy && this.place.copy.laying && !this.to.shelf.laying(this.place.copy)) this.place = null;
  }

  /** Store where this stand is, if it has moved since. */
  keep() {
    if (!this.#moved) return;
    this.#moved = false;
    const was = [...this.#was].slice(-REMEMBERED);
    void this.to.store.put('self', 'here', { call: this.call, place: this.place, chair: this.chair, part: this.part, was });
  }

  /** Whether the place is what is seen, and not a card that says that it is on its way. */
  get isOnGlass() {
    const { place } = this;
    return place !== null && this.to.glass.shown === this.keyOf(place) && (place.copy !== null || this.#isTacet(place));
  }

  /** @param {Place} place */
  #isTacet({ tune, chair }) {
    return this.to.shelf.copies(tune, chair).some((copy) => !copy.part);
  }

  /** Another chair, another part: begin where the band is. */
  sitDown() {
    this.place = null;
    this.chair = this.to.session.self.chairs[0] ?? '';
    this.#was.clear();
    this.#moved = true;
    this.keep();
    this.settle();
  }

  /** Copies that places still need. @returns {Copy[]} */
  get held() {
    const places = [this.place, ...this.#was.values()];
    /** @type {Copy[]} */ const copies = [];
    for (const start of places) for (let place = start; place; place = place.prior) if (place.copy) copies.push(place.copy);
    return copies;
  }

  /** A position came from the hub. @param {PositionView} position @param {boolean} returning whether it came with a welcome */
  async hearPosition(position, returning) {
    if (position.call === this.call) return this.settle();
    this.#progress.tell('received');
    const pen = this.to.penUp();
    if (pen && !returning) await Promise.race([pen, new Promise((resolve) => setTimeout(resolve, PEN_PATIENCE))]);
    // While the pen was down a newer position may have come: it alone counts.
    if (position !== this.to.room.position) return undefined;
    const place = follow(this.shelf, position, this.call, (call) => this.#was.get(call));
    if (this.place) this.#was.set(this.call, this.place);
    this.call = position.call;
    if (place) {
      this.#waitsFor = lacksCalled(this.shelf, place, place.start) ? position.call : -1;
      this.#go(this.#inShape(place));
    } else this.settle();
    return undefined;
  }

  /** The hub was replaced: its calls count anew, and its first one is not a call. @param {number} call */
  recount(call) {
    this.call = call;
    this.#was.clear();
  }

  /** @param {TuneView} view */
  hearTune(view) {
    if (view.tune === this.place?.tune) this.#progress.tell('received', view);
    this.over.drawAll();
    this.settle();
  }

  /** A copy is on the shelf. @param {Copy} copy */
  stored(copy) {
    if (copy.tune === this.place?.tune) this.over.drawAll();
    if (copy.tune === this.to.room.position.tune) this.#progress.tell('laid', this.to.shelf.tune(copy.tune), copy.revision);
    this.settle();
  }

  /** Take what has come since: the first tune before any call, a copy that was not here, the shape and height that are wanted now. */
  settle() {
    const { room } = this.to;
    const { place } = this;
    this.#turns = null;
    if (!place) {
      const row = room.on ?? room.first;
      if (!row || !this.to.session.self.chairs.length) return this.to.moved();
      return this.#go(placeOfCall(this.shelf, room.position) ?? placeIn(this.shelf, row));
    }
    if (!place.copy) {
      const called = room.same(room.on, place) && place.prior === null ? placeOfCall(this.shelf, room.position) : null;
      return this.#go(called ?? placeIn(this.shelf, place, this.#calledIn(place), place.prior));
    }
    const came = this.#waitsFor === this.call && !hasTurned(place) ? placeOfCall(this.shelf, room.position) : null;
    if (came?.copy && !lacksCalled(this.shelf, came, came.start)) {
      this.#waitsFor = -1;
      return this.#go(this.#inShape(came));
    }
    const kept = this.#kept ?? this.#barOf(place);
    const fresh = this.#inShape(place, kept);
    if (fresh === place) return this.#show();
    this.#go(fresh);
    this.#kept = kept;
    return undefined;
  }

  /** The same place on a page of the wanted shape and height, if there is one. @param {Place} place @param {number | null} [bar] its key */
  #inShape(place, bar = this.#barOf(place)) {
    if (!this.#outOfShape(place)) return place;
    const fresh = laidAnew(this.shelf, place, bar);
    return this.#outOfShape(fresh) ? place : fresh;
  }

  /** @param {Place} place */
  #outOfShape({ chair, copy }) {
    const laying = copy && this.shelf.laying(copy);
    if (!copy || !laying) return false;
    // Tall lines are laid in lower staves than were asked for: what was asked for counts.
    return !isLaidFor(laying, this.to.shape()) || (!copy.asPrinted && copy.stave !== this.to.session.staveOf(chair));
  }

  /** @param {Place} place */
  #barOf(place) {
    return barLookedAt(this.shelf, place, this.#calledIn(place));
  }

  /** The written position that was called, in the written order as it is now: bars may have come before it. @param {Place} place */
  #calledIn(place) {
    const { room } = this.to;
    const { start, start_pass: pass } = room.position;
    const view = this.shelf.tune(place.tune);
    if (place.start === null || !view || start === null || !room.same(room.on, place)) return place.start;
    return positionOf(view, start, pass) ?? place.start;
  }

  /** What the player is told of the visible part: edits that it has in words only, bars that are not as they should be. */
  get told() {
    const copy = this.place?.copy;
    return copy ? [...copy.told, ...(this.shelf.laying(copy)?.notes ?? [])] : [];
  }

  /** The stave height of the visible page in mm, as it was asked for and as it is; null: a card, or as printed. */
  get stave() {
    const copy = this.place?.copy;
    const laying = copy && !copy.asPrinted ? this.shelf.laying(copy) : null;
    return copy && laying ? { asked: copy.stave, shown: laying.stave } : null;
  }

  /** Worked out anew when anything came since, or after a turn. @param {Place} from */
  #turnsFrom(from) {
    if (this.#turns?.from === from) return this.#turns;
    const back = backward(from);
    this.#turns = { from, on: onward(this.shelf, from), back: back && this.#inShape(back) };
    return this.#turns;
  }

  turnOn() {
    const place = this.place && this.#turnsFrom(this.place).on;
    if (place) this.#go(place);
  }

  turnBack() {
    const place = this.place && this.#turnsFrom(this.place).back;
    if (place) this.#go(place);
  }

  /** Show the next of what this stand holds, at the same bar. */
  otherPart() {
    const { place } = this;
    if (!place) return;
    const choices = this.choices(place.tune);
    const now = choices.findIndex(({ chair, part }) => chair === place.chair && part === (place.copy?.part ?? ''));
    const { chair, part } = choices[(now + 1) % choices.length];
    const laying = place.copy && this.shelf.laying(place.copy);
    const first = laying && place.copy ? firstPosition(laying, place.copy, place.page) : null;
    Object.assign(this, { chair, part });
    this.#go({ ...placeIn({ ...this.shelf, chair: () => chair }, place, first), start: null });
  }

  /** @param {Place} place */
  #go(place) {
    this.place = place;
    this.#kept = null;
    this.#moved = true;
    this.#show();
    onceSeen(() => inLull(() => this.keep()));
  }

  /** The name of a page's picture: the same page looks the same whatever was decided since. @param {Place} place */
  keyOf(place) {
    const { page, scale } = this.to.shape();
    const density = devicePixelRatio;
    const look = this.to.look().name;
    if (!place.copy) {
      return `card/${place.tune}/${place.chair}/${this.#isTacet(place)}/${this.to.room.title(place.tune)}`;
    }
    return `${place.copy.laying}/${place.page}/${page.join('x')}@${(scale * density).toFixed(3)}/${look}`;
  }

  #show() {
    const { place } = this;
    if (!place) return;
    const { glass } = this.to;
    const key = this.keyOf(place);
    if (!place.copy && !glass.has(key)) glass.add(key, this.to.card(place));
    if (glass.has(key)) {
      const turned = glass.shown !== key;
      glass.show(key);
      const inked = this.over.places.get(key);
      this.over.places.set(key, place);
      if (inked?.copy !== place.copy || inked?.start !== place.start) this.over.draw(key, place);
      this.#onGlass(key, turned);
      // What is said about the page, and the pages around, have time until it is seen.
      if (turned) return;
      this.to.moved();
    }
    void this.#prepare();
  }

  /** Once it is seen. @param {string} key @param {boolean} turned */
  #onGlass(key, turned) {
    onceSeen(() => {
      if (this.isOnGlass && key === this.to.glass.shown) this.#progress.tell('glass');
      if (!turned) return;
      this.to.moved();
      inLull(() => void this.#prepare());
    });
  }

  /** The pages that a turn or the next call may ask for, most urgent first. @returns {Place[]} */
  #around() {
    const { place } = this;
    if (!place) return [];
    const coming = this.to.room.coming;
    const called = this.to.room.position;
    const { on, back } = this.#turnsFrom(place);
    return [
      place,
      on,
      back,
      coming && placeIn(this.shelf, coming),
      called.tune !== null && called.tune !== place.tune ? placeOfCall(this.shelf, called) : null,
    ].filter((one) => one !== null);
  }

  /** Compose what is around, one page after the other; a turn in between changes what is most urgent. */
  async #prepare() {
    const wanted = new Map(this.#around().map((place) => [this.keyOf(place), place]));
    this.to.glass.keep(new Set(wanted.keys()));
    this.over.forget();
    if (this.#composing) return;
    const next = [...wanted].find(([key, place]) => place.copy && !this.to.glass.has(key));
    if (!next) return;
    this.#composing = true;
    const [key, place] = next;
    try {
      const bitmap = await this.#compose(place);
      this.to.glass.add(key, bitmap);
      this.over.places.set(key, place);
      this.over.draw(key, place);
      if (place.tune === this.to.room.position.tune) this.#progress.tell('laid');
    } catch (error) {
      console.warn('This page could not be composed.', error);
      await new Promise((resolve) => setTimeout(resolve, 500));
    } finally {
      this.#composing = false;
    }
    if (this.place && key === this.keyOf(this.place)) this.#show();
    else void this.#prepare();
  }

  /** Device px a mm. */
  get scale() {
    return this.to.shape().scale * devicePixelRatio;
  }

  /** @param {Place} place */
  async #compose(place) {
    const copy = /** @type {Copy} */ (place.copy);
    const laying = this.to.shelf.laying(copy);
    const pieces = this.to.shelf.pieces(copy);
    if (!laying || !pieces) throw new Error('its laying is not here');
    const shape = this.to.shape();
    // A laying of another shape (before the new one is here) is shown whole.
    const fit = Math.min((shape.page[0] * shape.scale) / laying.page[0], (shape.page[1] * shape.scale) / laying.page[1]);
    const scale = fit * devicePixelRatio;
    const page = laying.pages[place.page];
    const rung = rungOf(laying, pieces, scale);
    const sheets = await this.to.shelf.sheets(copy, sheetsOf(page, pieces), rung);
    const [width, height] = laying.page.map((mm) => Math.round(mm * scale));
    return this.to.composer.compose({ page, pieces, rung, scale, width, height, look: this.to.look(), sheets });
  }

  /** After a welcome: the hub knows nothing of this stand's glass yet. */
  tellAnew() {
    this.#progress.forget();
    if (this.isOnGlass) this.#progress.tell('glass');
  }
}
