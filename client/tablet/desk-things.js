/**
 * What was read of a page, as things that can be picked and corrected. Pure. Lengths are points of the page.
 *
 * @typedef {import('./wire.js').OnPage} OnPage
 * @typedef {import('./wire.js').Said} Said
 * @typedef {[x0: number, y0: number, x1: number, y1: number]} Box
 * @typedef {{x: number, x0: number, x1: number, kind: string, line_start: boolean, confidence: number}} Barline
 * @typedef {{index: number, number: number, count: number, x0: number, x1: number, confidence: number, continued: boolean}} Bar
 * @typedef {{top: number, bottom: number, x0: number, x1: number}} Stave
 * @typedef {object} System
 * @property {Box} bbox
 * @property {number} space
 * @property {Stave[]} staves
 * @property {Barline[]} barlines
 * @property {Bar[]} bars
 * @property {number} head_x1
 * @property {number | null} printed_number
 * @property {number} confidence
 * @property {string} doubt
 * @typedef {{width: number, height: number, systems: System[], as_printed: string, area?: Box | null}} PageReading
 * @typedef {{text: string, bar: number, page: number, box: Box, confidence: number}} Mark
 * @typedef {{kind: string, bar: number, at: string, page: number, box: Box, text: string, confidence: number}} Sign
 * @typedef {{passes: number[], bar: number, last_bar: number, page: number, box: Box, confidence: number}} Ending
 * @typedef {object} Reading
 * @property {number} bars
 * @property {boolean} pickup
 * @property {Mark[]} marks
 * @property {Sign[]} signs
 * @property {Ending[]} endings
 * @property {PageReading[]} pages
 * @property {number} confidence
 * @property {string[]} doubts
 * @property {{text: string}[]} [head]
 * @property {Reading[]} [shares] what each of the parts that share its pages is read as alone
 * @property {{bar: number, fewer: number}[]} [uncounted] where the printed numbers fall behind the count
 *
 * @typedef {'system' | 'bar' | 'barline' | 'mark' | 'sign' | 'ending'} ThingKind
 * @typedef {object} Thing
 * @property {ThingKind} kind
 * @property {Box} box
 * @property {OnPage} at where a correction of it is anchored
 * @property {boolean} sure
 * @property {string} label in short, drawn beside it
 * @property {string} says in words, for those who do not see it
 * @property {System} system
 * @property {Bar} [bar]
 * @property {Barline} [barline]
 * @property {Mark} [mark]
 * @property {Sign} [sign]
 * @property {Ending} [ending]
 */

/** At or above this confidence a thing is not in doubt. */
export const SURE = 0.9;

/** What the kinds of sign are called. @type {Record<string, string>} */
export const SIGNS = {
  segno: 'Segno',
  coda: 'Coda',
  'to-coda': 'To Coda',
  fine: 'Fine',
  ds: 'D.S.',
  'ds-al-coda': 'D.S. al Coda',
  'ds-al-fine': 'D.S. al Fine',
  dc: 'D.C.',
  'dc-al-coda': 'D.C. al Coda',
  'dc-al-fine': 'D.C. al Fine',
};
/** @type {Record<string, string>} */
export const BARLINES = {
  single: 'Single',
  double: 'Double',
  final: 'Final',
  'repeat-start': 'Repeat begins',
  'repeat-end': 'Repeat ends',
  'repeat-both': 'Ends and begins',
  dashed: 'Dashed',
};

/** The number that musicians call a bar of the count by. @param {Reading} reading @param {number} bar */
export const called = (reading, bar) => (reading.uncounted ?? []).reduce((n, one) => (one.bar <= bar ? n - one.fewer : n), bar);

/** The bar of the count that musicians call so, the nearest to `near` of several. @param {Reading} reading @param {number} number @param {number} near */
export function countOf(reading, number, near) {
  let behind = 0;
  const counts = [number, ...(reading.uncounted ?? []).map((one) => number + (behind += one.fewer))];
  const able = counts.filter((bar) => called(reading, bar) === number);
  return able.reduce((best, bar) => (Math.abs(bar - near) < Math.abs(best - near) ? bar : best), able[0] ?? number);
}

/** @param {Box} box @returns {[number, number]} */
const centre = ([x0, y0, x1, y1]) => [(x0 + x1) / 2, (y0 + y1) / 2];
/** @param {number[]} passes */
export const passesSaid = (passes) => passes.map((n) => `${n}.`).join(' ');

/**
 * All things of a page, line by line from the left.
 * @param {Reading} reading
 * @param {number} page
 * @returns {Thing[]}
 */
export function thingsOn(reading, page) {
  const { systems } = reading.pages[page];
  return systems.flatMap((system, n) => {
    const [x0, top, , bottom] = system.bbox;
    const middle = (top + bottom) / 2;
    const sure = system.confidence >= SURE;
    /** @param {number} x @returns {OnPage} */
    const at = (x) => [page, x, middle];
    /** @type {Thing} */
    const head = {
      kind: 'system',
      box: [x0, top, system.head_x1, bottom],
      at: at((x0 + system.head_x1) / 2),
      sure,
      label: '',
      says: `Line ${n + 1}, ${system.staves.length === 1 ? 'one stave' : `${system.staves.length} staves`}${system.doubt ? `, in doubt: ${system.doubt}` : ''}`,
      system,
    };
    const bars = system.bars.map((bar) => {
      const rest = bar.count > 1 ? `, ${bar.count} bars rest` : '';
      /** @type {Thing} */
      const thing = {
        kind: 'bar',
        box: [bar.x0, top, bar.x1, bottom],
        at: at((bar.x0 + bar.x1) / 2),
        sure: sure && bar.confidence >= SURE,
        label: bar.continued ? '…' : bar.number === 0 ? 'pickup' : String(called(reading, bar.number)),
        says: `Bar ${called(reading, bar.number)}${rest}`,
        system,
        bar,
      };
      return thing;
    });
    const barlines = system.barlines.map((barline) => {
      /** @type {Thing} */
      const thing = {
        kind: 'barline',
        box: [barline.x0, top, barline.x1, bottom],
        at: at(barline.x),
        sure: barline.confidence >= SURE,
        label: barline.kind === 'single' ? '' : (BARLINES[barline.kind] ?? barline.kind),
        says: `${BARLINES[barline.kind] ?? barline.kind} barline`,
        system,
        barline,
      };
      return thing;
    });
    const own = [...bars, ...barlines, ...above(reading, page, system, systems)];
    return [head, ...own.sort((a, b) => centre(a.box)[0] - centre(b.box)[0] || a.kind.localeCompare(b.kind))];
  });
}

/** Marks, signs and endings whose bar is in a system. @param {Reading} reading @param {number} page @param {System} system @param {System[]} systems @returns {Thing[]} */
function above(reading, page, system, systems) {
  /** @param {{page: number, box: Box}} one */
  const here = (one) => one.page === page && nearest(systems, one.box) === system;
  return [
    ...reading.marks.filter(here).map((mark) => {
      const [x, y] = centre(mark.box);
      /** @type {Thing} */
      const thing = { kind: 'mark', box: mark.box, at: [page, x, y], sure: mark.confidence >= SURE, label: `${mark.text} at ${called(reading, mark.bar)}`, says: `Mark ${mark.text} at bar ${called(reading, mark.bar)}`, system, mark };
      return thing;
    }),
    ...reading.signs.filter(here).map((sign) => {
      const [x, y] = centre(sign.box);
      const name = SIGNS[sign.kind] ?? sign.kind;
      /** @type {Thing} */
      const thing = { kind: 'sign', box: sign.box, at: [page, x, y], sure: sign.confidence >= SURE, label: `${name} at ${called(reading, sign.bar)}`, says: `${name} at the ${sign.at} of bar ${called(reading, sign.bar)}`, system, sign };
      return thing;
    }),
    ...reading.endings.filter(here).map((ending) => {
      const first = barNumbered(reading, ending.bar);
      const bars = [ending.bar, ending.last_bar].map((bar) => called(reading, bar));
      /** @type {Thing} */
      const thing = {
        kind: 'ending',
        box: ending.box,
        at: first ? first.at : [page, ...centre(ending.box)],
        sure: ending.confidence >= SURE,
        label: `${passesSaid(ending.passes)} ${bars.join('–')}`,
        says: `Ending ${passesSaid(ending.passes)} bars ${bars.join(' to ')}`,
        system,
        ending,
      };
      return thing;
    }),
  ];
}

/** The system that something stands over, or is nearest to. @param {System[]} systems @param {Box} box */
function nearest(systems, box) {
  const y = centre(box)[1];
  const away = (/** @type {System} */ { bbox: [, top, , bottom] }) => (y <= bottom ? Math.max(top - y, 0) : (y - bottom) * 2);
  return systems.reduce((best, one) => (away(one) < away(best) ? one : best), systems[0]);
}

/** Where the bar of a number is. @param {Reading} reading @param {number} number @returns {{at: OnPage, bar: Bar, system: System} | null} */
export function barNumbered(reading, number) {
  for (const [page, { systems }] of reading.pages.entries())
    for (const system of systems)
      for (const bar of system.bars)
        if (!bar.continued && bar.number <= number && number < bar.number + bar.count)
          return { at: [page, (bar.x0 + bar.x1) / 2, (system.bbox[1] + system.bbox[3]) / 2], bar, system };
  return null;
}

/** Where the bar of a number begins, for a mark or sign. @param {Reading} reading @param {number} number @param {'start' | 'end'} [edge] @returns {OnPage | null} */
export function edgeOf(reading, number, edge = 'start') {
  const found = barNumbered(reading, number);
  return found && [found.at[0], edge === 'start' ? found.bar.x0 : found.bar.x1, found.at[2]];
}

/** How far a point is from a box. @param {Box} box @param {number} x @param {number} y */
const away = ([x0, y0, x1, y1], x, y) => Math.hypot(Math.max(x0 - x, 0, x - x1), Math.max(y0 - y, 0, y - y1));

/** What is above the staves is picked before what it may touch, and barlines before the bars that they part. */
const FIRST = /** @type {const} */ ([['mark', 'sign'], ['barline'], ['ending'], ['bar', 'system']]);

/**
 * The thing meant by a touch.
 * @param {Thing[]} things
 * @param {number} x
 * @param {number} y
 * @param {number} reach points: half of a thumb's target
 * @returns {Thing | null}
 */
export function pick(things, x, y, reach) {
  for (const kinds of FIRST) {
    const near = things
      .filter((one) => /** @type {readonly string[]} */ (kinds).includes(one.kind))
      // A barline's target is narrow where bars are: half of the reach, so that short bars can be touched too.
      .map((one) => ({ one, by: away(one.box, x, y) * (one.kind === 'barline' && y > one.box[1] && y < one.box[3] ? 2 : 1) }))
      .filter(({ by }) => by <= reach)
      .sort((a, b) => a.by - b.by);
    if (near.length) return near[0].one;
  }
  return null;
}

/** The same thing in another reading of the page: of its kind and nearest to where it was. @param {Thing[]} things @param {Thing | null} was @returns {Thing | null} */
export function again(things, was) {
  if (!was) return null;
  const [x, y] = centre(was.box);
  const far = (/** @type {Thing} */ one) => {
    const [a, b] = centre(one.box);
    return Math.hypot(a - x, b - y);
  };
  const same = things.filter((one) => one.kind === was.kind).sort((a, b) => far(a) - far(b));
  return same.length && far(same[0]) < 6 * was.system.space ? same[0] : null;
}

/** The correction that takes a thing away, if it can be. @param {Thing} thing @returns {Said | null} */
export function gone({ kind, at }) {
  if (kind === 'bar') return null;
  return { type: `no-${kind}`, at };
}

/**
 * The correction that moves a thing by some points; null where it cannot be moved so.
 * @param {Reading} reading
 * @param {Thing} thing
 * @param {OnPage} to where its middle is to be
 * @returns {Said | null}
 */
export function moved(reading, thing, to) {
  const { kind, at } = thing;
  if (kind === 'system') return shifted(thing, to[1] - at[1], to[2] - at[2]);
  if (kind === 'barline') return { type: 'barline', at, kind: '', to: to[1] };
  if (kind === 'mark' && thing.mark) return { type: 'mark', at, text: thing.mark.text, to };
  if (kind === 'sign' && thing.sign) return { type: 'sign', at, kind: thing.sign.kind, edge: thing.sign.at, to };
  if (kind === 'ending' && thing.ending) {
    const { bar, last_bar, passes } = thing.ending;
    const until = barNumbered(reading, last_bar - bar + (barAt(reading, to)?.number ?? bar));
    return until && { type: 'ending', at: to, until: until.at, passes, instead: at };
  }
  return null;
}

/** A line's staves elsewhere. @param {Thing} thing @param {number} dx @param {number} dy @returns {Said} */
const shifted = ({ at, system }, dx, dy) => ({
  type: 'system',
  page: at[0],
  staves: system.staves.map(({ x0, top, x1, bottom }) => /** @type {Box} */ ([x0 + dx, top + dy, x1 + dx, bottom + dy])),
});

/** Spaces between the staves of two lines, as a line put in by hand first stands. */
const BELOW = 10;

/** One more line of music as this one, below it. @param {Thing} thing */
export const lineBelow = (thing) => shifted(thing, 0, thing.system.bbox[3] - thing.system.bbox[1] + BELOW * thing.system.space);

/** @param {Reading} reading @param {OnPage} at @returns {Bar | null} */
function barAt(reading, [page, x, y]) {
  const system = nearest(reading.pages[page].systems, [x, y, x, y]);
  return system?.bars.find((bar) => x < bar.x1) ?? null;
}

/** An ending of some bars that begins with a bar. @param {Reading} reading @param {Thing} thing a bar @param {number} bars @param {number[]} passes @returns {Said | null} */
export function endingFrom(reading, thing, bars, passes) {
  const last = thing.bar && barNumbered(reading, thing.bar.number + bars - 1);
  return last && passes.length ? { type: 'ending', at: thing.at, until: last.at, passes } : null;
}

/** "1, 2" or "1.-3." as numbers. @param {string} words @returns {number[]} */
export function passesFrom(words) {
  const found = [...words.matchAll(/(\d+)(?:\s*\.?\s*[-–]\s*(\d+))?/g)].flatMap(([, a, b]) => {
    const [from, to] = [Number(a), Number(b ?? a)];
    return to >= from && to - from < 20 ? Array.from({ length: to - from + 1 }, (_, n) => from + n) : [];
  });
  return [...new Set(found)].filter((n) => n >= 1 && n <= 99);
}

/** The parts that share pages, in words, and what takes each of them alone. @param {Reading} reading @returns {{words: string, said: Said}[]} */
export function halves({ shares = [] }) {
  const page = shares[0]?.pages.findIndex(({ area }) => area && area[2] > area[0]) ?? -1;
  const boxes = shares.flatMap(({ pages }) => pages[page]?.area ?? []).length === 4 * shares.length ? shares.map(({ pages }) => /** @type {Box} */ (pages[page].area)) : [];
  const titles = shares.map(({ head = [] }) => head[0]?.text);
  return boxes.map(([x0, y0, x1, y1], n) => {
    const two = boxes.length === 2;
    const where = !two ? `part ${n + 1} of ${boxes.length}` : boxes[0][2] <= boxes[1][0] ? ['the left half', 'the right half'][n] : ['the upper half', 'the lower half'][n];
    const head = new Set(titles).size > 1 ? titles[n] : '';
    return { words: `Take ${where}${head ? `: ${head}` : ''}`, said: { type: 'half', at: [page, (x0 + x1) / 2, (y0 + y1) / 2] } };
  });
}
