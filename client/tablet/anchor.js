/**
 * From music to glass and back. Millimetres on the laid page; a point of a marking is (bar, fraction of its music's
 * width, stave from the top, staff spaces above that stave's middle line).
 *
 * @typedef {import('./wire.js').LaidPage} LaidPage
 * @typedef {import('./wire.js').LaidLine} LaidLine
 * @typedef {import('./wire.js').Point} Point
 * @typedef {import('./wire.js').ThreadStep} ThreadStep
 */

/**
 * The place of one bar on a page. A multi-bar rest counts as so many equal boxes.
 * @typedef {object} Box
 * @property {string} bar
 * @property {number} pass
 * @property {number} position written position
 * @property {number} step of the copy
 * @property {number} x0
 * @property {number} x1
 * @property {number[]} staves y of each stave's middle line
 * @property {number} y0 top of the line's first stave
 * @property {number} y1 bottom of its last
 */

/**
 * The boxes of a page, line by line.
 * @param {LaidPage} page
 * @param {number[]} order written position of each step
 * @param {ThreadStep[]} written
 * @returns {Box[][]}
 */
export function boxesOf(page, order, written) {
  return page.lines.map((line) =>
    line.bars.flatMap((laid) => {
      const [first, last] = laid.steps;
      const width = (laid.x1 - laid.x0) / (last - first + 1);
      return Array.from({ length: last - first + 1 }, (_, n) => {
        const position = order[first + n] ?? -1;
        const [bar, , pass] = written[position] ?? ['', 0, 0, ''];
        const x0 = laid.x0 + n * width;
        return { bar, pass, position, step: first + n, x0, x1: x0 + width, staves: laid.staves, y0: line.y0, y1: line.y1 };
      }).filter((box) => box.bar !== '');
    }),
  );
}

/**
 * The line whose music is nearest to a height.
 * @param {Box[][]} lines
 * @param {number} y mm
 * @returns {Box[]} empty when there is none
 */
export function nearestLine(lines, y) {
  /** @type {Box[]} */ let nearest = [];
  let least = Infinity;
  for (const line of lines) {
    if (!line.length) continue;
    const { y0, y1 } = line[0];
    const away = y < y0 ? y0 - y : y > y1 ? y - y1 : 0;
    if (away < least) [nearest, least] = [line, away];
  }
  return nearest;
}

/**
 * The anchor of a point in a line: the bar under it, or the nearest one, which it then overhangs.
 * @param {Box[]} line not empty
 * @param {number} x mm
 * @param {number} y mm
 * @param {number} space mm a staff space
 * @param {number} [stave] stay on this stave; otherwise the nearest
 * @param {number} [pressure]
 * @returns {Point}
 */
export function anchorAt(line, x, y, space, stave, pressure = 0.5) {
  let box = line[0];
  for (const one of line) if (x >= one.x0) box = one;
  const near = stave ?? nearestStave(box, y);
  const fraction = (x - box.x0) / (box.x1 - box.x0);
  return [box.bar, round(fraction), near, round((box.staves[near] - y) / space), round(pressure)];
}

/** @param {Box} box @param {number} y */
function nearestStave(box, y) {
  let best = 0;
  box.staves.forEach((middle, n) => {
    if (Math.abs(middle - y) < Math.abs(box.staves[best] - y)) best = n;
  });
  return best;
}

/** Four decimals are a hundredth of a pixel and keep a stroke short on the wire. @param {number} value */
const round = (value) => Math.round(value * 1e4) / 1e4;

/** @typedef {{x: number, y: number, pressure: number}} Spot */

/**
 * The runs of a stroke that a line shows, once for each time through that it shows. A stroke over several bars breaks
 * where its next bar does not follow on the line.
 * @param {Point[]} points
 * @param {Box[]} line
 * @param {number} space mm
 * @param {number | null} [pass] only this time through
 * @returns {Spot[][]}
 */
export function runsOn(points, line, space, pass = null) {
  const wanted = new Set(points.map((point) => point[0]));
  const shown = line.map((box, n) => ({ box, n })).filter(({ box }) => wanted.has(box.bar));
  const passes = new Set(shown.map(({ box }) => box.pass).filter((one) => pass === null || one === pass));
  /** @type {Spot[][]} */ const runs = [];
  for (const time of passes) {
    const at = new Map(shown.filter(({ box }) => box.pass === time).map((one) => [one.box.bar, one]));
    /** @type {Spot[]} */ let run = [];
    let before = -1;
    for (const [bar, fraction, stave, spaces, pressure] of points) {
      const found = at.get(bar);
      const middle = found?.box.staves[Math.min(stave, found.box.staves.length - 1)];
      if (!found || middle === undefined || (run.length && Math.abs(found.n - before) > 1)) {
        if (run.length) runs.push(run);
        run = [];
      }
      if (!found || middle === undefined) continue;
      const { x0, x1 } = found.box;
      run.push({ x: x0 + fraction * (x1 - x0), y: middle - spaces * space, pressure });
      before = found.n;
    }
    if (run.length) runs.push(run);
  }
  return runs;
}
