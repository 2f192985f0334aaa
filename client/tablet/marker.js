/**
 * Marking one's part: from strokes on the glass to markings anchored to bars, erasing and undoing.
 *
 * @typedef {import('./wire.js').Marking} Marking
 * @typedef {import('./wire.js').Layer} Layer
 * @typedef {import('./anchor.js').Spot} Spot
 * @typedef {import('./reader.js').Reader} Reader
 * @typedef {import('./session.js').Session} Session
 */
import { anchorAt, nearestLine } from './anchor.js';
import { newId } from './ids.js';
import { runsOf } from './ink.js';

/** Staff spaces: how thick a pencil line is, and how near the eraser must come. */
const NIB = 0.35;
const RUBBER = 0.9;
/** Fraction of the page's width, where there are no bars. */
const PAGE_NIB = 0.004;
/** A stroke of more points would not fit a message. */
const MOST_POINTS = 2000;

/** Nearest distance from a point to a polyline. @param {Spot} at @param {Spot[]} run */
export function distanceTo(at, run) {
  let least = Infinity;
  run.forEach((to, n) => {
    const from = run[n - 1] ?? to;
    const [dx, dy] = [to.x - from.x, to.y - from.y];
    const length = dx * dx + dy * dy;
    const t = length ? Math.max(0, Math.min(1, ((at.x - from.x) * dx + (at.y - from.y) * dy) / length)) : 0;
    least = Math.min(least, Math.hypot(at.x - from.x - t * dx, at.y - from.y - t * dy));
  });
  return least;
}

/** Every so many points, so that at most `most` are left, with the last one. @template T @param {T[]} items @param {number} most */
export function thinned(items, most) {
  const every = Math.ceil(items.length / most);
  return every < 2 ? items : items.filter((_, n) => n % every === 0 || n === items.length - 1);
}

export class Marker {
  /** @type {Layer} */ layer = 'mine';
  erasing = false;
  /** What can be undone, last done last. @type {({made: string} | {erased: Marking})[]} */ #done = [];

  /**
   * @param {Reader} reader
   * @param {Session} session
   * @param {(chair: string) => string} sectionOf
   */
  constructor(reader, session, sectionOf) {
    this.reader = reader;
    this.session = session;
    this.sectionOf = sectionOf;
  }

  /** px of a pencil line for a scale in px a mm. @param {number} scale */
  width(scale) {
    const map = this.reader.place && this.reader.over.mapOf(this.reader.place);
    return map && !map.asPrinted ? NIB * map.space * scale : PAGE_NIB * (map?.size[0] ?? 148) * scale;
  }

  /** A stroke on the visible page, in mm. @param {Spot[]} stroke */
  drew(stroke) {
    const { place } = this.reader;
    const map = place && this.reader.over.mapOf(place);
    if (!place || !map) return;
    const spots = thinned(stroke, MOST_POINTS);
    const line = map.asPrinted ? [] : nearestLine(map.lines, spots[0].y);
    /** @type {Marking['what']} */ let what;
    if (line.length) {
      const first = anchorAt(line, spots[0].x, spots[0].y, map.space);
      const points = spots.map(({ x, y, pressure }) => anchorAt(line, x, y, map.space, first[2], pressure));
      what = { type: 'ink', points, width: NIB };
    } else {
      const round = (/** @type {number} */ value) => Math.round(value * 1e5) / 1e5;
      const [width, height] = map.size;
      what = {
        type: 'page-ink',
        points: spots.map(({ x, y, pressure }) => [place.page, round(x / width), round(y / height), round(pressure)]),
        width: PAGE_NIB,
      };
    }
    this.#make({
      id: newId(),
      tune: place.tune,
      chair: place.chair,
      layer: this.layer,
      what,
      section: this.sectionOf(place.chair),
      pass_: null,
    });
  }

  /** @param {Marking} marking */
  #make(marking) {
    this.session.mark(marking);
    this.#done.push({ made: marking.id });
  }

  /** The eraser is at a point of the visible page, in mm. @param {Spot} at */
  rubbed(at) {
    const { place } = this.reader;
    const map = place && this.reader.over.mapOf(place);
    if (!place || !map) return;
    for (const marking of this.reader.over.visible(place, this.session.markings.made.values())) {
      if (!runsOf(marking, map).some((run) => distanceTo(at, run) < RUBBER * map.space)) continue;
      this.session.erase(marking.id, place.chair);
      this.#done.push({ erased: marking });
    }
  }

  /** Take back the last stroke or erasure made on this stand. */
  undo() {
    const last = this.#done.pop();
    if (!last || !this.reader.place) return;
    // An erased id never stands again: what comes back is a new marking.
    if ('erased' in last) this.session.mark({ ...last.erased, id: newId() });
    else this.session.erase(last.made, this.reader.place.chair);
  }
}
