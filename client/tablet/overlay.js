/**
 * What lies over a page: markings, the shade on bars that are cut or tacet, the glow of the bar that was called, and
 * where bars that it lacks come in, or how often others are now played.
 *
 * @typedef {import('./turn.js').Place} Place
 * @typedef {import('./wire.js').Marking} Marking
 */
import { boxesOf } from './anchor.js';
import { drawMarkings, flagLack, flagRound, glowBar, runsOf } from './ink.js';
import { roundsOf } from './lacking.js';
import { isSilent } from './order.js';
import { reachesOf, shadeBars } from './shade.js';

export class Overlay {
  /** Places of the pages that are on the glass or being made, by key. @type {Map<string, Place>} */ places = new Map();
  /** What was drawn over a page, so that the same is not drawn again. @type {Map<string, {marks: string[], rest: string}>} */ #drawn = new Map();

  /**
   * @param {object} to
   * @param {import('./shelf.js').CopyShelf} to.shelf
   * @param {import('./room.js').Room} to.room
   * @param {import('./session.js').Session} to.session
   * @param {import('./glass.js').Glass} to.glass
   * @param {() => import('./look.js').Look} to.look
   * @param {(place: Place) => number | null} calledIn the written position that was called
   * @param {(place: Place) => import('./lacking.js').Lack | null} lackOf
   */
  constructor(to, calledIn, lackOf) {
    this.to = to;
    this.calledIn = calledIn;
    this.lackOf = lackOf;
  }

  /** What lies where on a place's page. @param {Place} place */
  mapOf(place) {
    const view = this.to.shelf.tune(place.tune);
    const laying = place.copy && this.to.shelf.laying(place.copy);
    const page = laying?.pages[place.page];
    if (!view || !laying || !page || !place.copy) return null;
    const lines = boxesOf(page, place.copy.order, view.written);
    const pieces = this.to.shelf.pieces(place.copy);
    return { lines, laid: page, pieces, page: place.page, size: laying.page, space: laying.space, view, asPrinted: place.copy.asPrinted };
  }

  /** Markings that belong on a chair's copy of a tune. @param {Place} place @param {Iterable<Marking>} markings */
  visible(place, markings) {
    const section = this.to.room.sectionOf(place.chair);
    return [...markings].filter(
      ({ tune, layer, chair, section: of, what }) =>
        tune === place.tune &&
        (what.type !== 'page-ink' || place.copy?.asPrinted) &&
        (layer === 'band' || (layer === 'section' ? of === section : chair === place.chair)),
    );
  }

  /** A page is shown or ready: what lies over it is drawn. @param {string} key @param {Place} place */
  draw(key, place) {
    const map = this.mapOf(place);
    if (!map || !this.to.glass.has(key)) return undefined;
    const markings = this.visible(place, this.to.session.markings.made.values()).filter((one) => runsOf(one, map).length);
    const boxes = map.lines.flat();
    const lack = this.lackOf(place);
    const keys = place.copy?.keys ?? [];
    const cut = boxes.filter((box) => isSilent(map.view, box.position, place.chair) || (lack?.turn && keys[box.step] > lack.after));
    const start = this.calledIn(place);
    const called = boxes.find((box) => box.position === start);
    const rounds = roundsOf(this.to.shelf, place, boxes);
    const drawn = {
      marks: markings.map(({ id }) => id),
      rest: JSON.stringify([boxes.map(({ bar, pass }) => [bar, pass]), cut.map(({ step }) => step), called?.step, lack, rounds]),
    };
    if (JSON.stringify(drawn) === JSON.stringify(this.#drawn.get(key))) return undefined;
    this.#drawn.set(key, drawn);
    this.to.glass.uncover(key);
    if (!markings.length && !cut.length && !called && !lack && !rounds.length) return undefined;
    const context = this.to.glass.over(key);
    if (!context) return undefined;
    const scale = context.canvas.width / map.size[0];
    shadeBars(context, cut, reachesOf(map.laid, map.pieces, map.lines, cut, map.space), map.space, scale, this.to.look());
    if (called) glowBar(context, called, map.space, scale, this.to.look());
    drawMarkings(context, markings, map, scale, this.to.look());
    for (const round of rounds) flagRound(context, round, map.space, scale, this.to.look());
    if (!lack) return undefined;
    const before = boxes.findLast((box) => keys[box.step] <= lack.after);
    flagLack(context, lack, before ?? boxes[0], before ? 'behind' : 'before', map.space, scale, this.to.look());
    return undefined;
  }

  drawAll() {
    for (const [key, place] of this.places) this.draw(key, place);
  }

  /** Markings came or went: what only came is drawn onto what is there. @param {Marking[]} added @param {boolean} removed */
  marked(added, removed) {
    if (removed) return this.drawAll();
    for (const [key, place] of this.places) {
      const map = this.mapOf(place);
      const mine = map ? this.visible(place, added).filter((one) => runsOf(one, map).length) : [];
      if (!mine.length || !map) continue;
      this.#drawn.get(key)?.marks.push(...mine.map(({ id }) => id));
      const context = this.to.glass.over(key);
      if (context) drawMarkings(context, mine, map, context.canvas.width / map.size[0], this.to.look());
    }
    return undefined;
  }

  /** Pages that left the glass are forgotten. */
  forget() {
    for (const one of [this.places, this.#drawn]) for (const key of one.keys()) if (!this.to.glass.has(key)) one.delete(key);
  }
}
