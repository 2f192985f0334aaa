/**
 * Drawing over a page: bars that are cut, the bar that was called, and markings. Device pixels; looks decide colours.
 *
 * @typedef {import('./wire.js').Marking} Marking
 * @typedef {import('./wire.js').Layer} Layer
 * @typedef {import('./anchor.js').Box} Box
 * @typedef {import('./anchor.js').Spot} Spot
 * @typedef {import('./look.js').Look} Look
 */
import { runsOn } from './anchor.js';

/**
 * One stroke of the pen, as wide as it was pressed.
 * @param {CanvasRenderingContext2D} context
 * @param {Spot[]} spots px
 * @param {number} width px at full pressure
 * @param {string} colour
 */
export function drawStroke(context, spots, width, colour) {
  context.strokeStyle = context.fillStyle = colour;
  context.lineCap = context.lineJoin = 'round';
  const wide = (/** @type {Spot} */ spot) => Math.max(1, width * (0.4 + 0.6 * spot.pressure));
  if (spots.length === 1) {
    context.beginPath();
    context.arc(spots[0].x, spots[0].y, wide(spots[0]) * 0.6, 0, 2 * Math.PI);
    context.fill();
    return;
  }
  let from = spots[0];
  for (let n = 1; n < spots.length; n++) {
    const at = spots[n];
    const last = n === spots.length - 1;
    const to = last ? at : { x: (at.x + spots[n + 1].x) / 2, y: (at.y + spots[n + 1].y) / 2, pressure: at.pressure };
    context.lineWidth = wide(at);
    context.beginPath();
    context.moveTo(from.x, from.y);
    context.quadraticCurveTo(at.x, at.y, to.x, to.y);
    context.stroke();
    from = to;
  }
}

/**
 * The shape that says whose a marking is, for eyes that do not tell the colours apart: a ring for the section, a
 * diamond for the band, nothing for one's own.
 * @param {CanvasRenderingContext2D} context
 * @param {Layer} layer
 * @param {number} x
 * @param {number} y
 * @param {number} size px
 * @param {string} colour
 */
export function drawSign(context, layer, x, y, size, colour) {
  if (layer === 'mine') return;
  context.strokeStyle = context.fillStyle = colour;
  context.lineWidth = Math.max(1, size * 0.22);
  context.beginPath();
  if (layer === 'section') context.arc(x, y, size * 0.5, 0, 2 * Math.PI);
  else {
    context.moveTo(x, y - size * 0.62);
    context.lineTo(x + size * 0.62, y);
    context.lineTo(x, y + size * 0.62);
    context.lineTo(x - size * 0.62, y);
    context.closePath();
    context.fill();
  }
  context.stroke();
}

/**
 * Where a marking stands on a page: the runs of its ink, or the place of its words. mm.
 * @param {Marking} marking
 * @param {object} on
 * @param {Box[][]} on.lines
 * @param {number} on.page 0-based
 * @param {[number, number]} on.size mm
 * @param {number} on.space mm
 * @returns {Spot[][]}
 */
export function runsOf(marking, { lines, page, size, space }) {
  const { what } = marking;
  if (what.type === 'ink') return lines.flatMap((line) => runsOn(what.points, line, space, marking.pass_));
  if (what.type === 'note') return lines.flatMap((line) => runsOn([what.at], line, space, marking.pass_));
  const spots = what.points
    .filter((point) => point[0] === page)
    .map(([, x, y, pressure]) => ({ x: x * size[0], y: y * size[1], pressure }));
  return spots.length ? [spots] : [];
}

/**
 * All markings of a page. Signs are drawn once a cluster, so that written words do not drown in them.
 * @param {CanvasRenderingContext2D} context
 * @param {Marking[]} markings
 * @param {{lines: Box[][], page: number, size: [number, number], space: number}} on
 * @param {number} scale device px a mm
 * @param {Look} look
 */
export function drawMarkings(context, markings, on, scale, look) {
  /** @type {{layer: Layer, x: number, y: number}[]} */ const signed = [];
  const near = on.space * scale * 7;
  for (const marking of markings) {
    const { what, layer } = marking;
    const colour = look.layers[layer];
    for (const run of runsOf(marking, on)) {
      const spots = run.map((spot) => ({ x: spot.x * scale, y: spot.y * scale, pressure: spot.pressure }));
      const { x, y } = spots[0];
      if (what.type === 'note') {
        context.fillStyle = colour;
        context.font = `600 ${(on.space * scale * 1.7).toFixed(1)}px ui-sans-serif, system-ui, sans-serif`;
        context.textAlign = 'start';
        context.fillText(what.text, x, y);
      } else {
        const width = what.type === 'ink' ? what.width * on.space : what.width * on.size[0];
        drawStroke(context, spots, width * scale, colour);
      }
      if (signed.some((one) => one.layer === layer && Math.hypot(one.x - x, one.y - y) < near)) continue;
      signed.push({ layer, x, y });
      drawSign(context, layer, x - on.space * scale * 0.9, y, on.space * scale * 0.62, colour);
    }
  }
}

/**
 * A flag at a barline: which bars are played there that the page lacks, and whether a turn leads to them.
 * @param {CanvasRenderingContext2D} context
 * @param {import('./lacking.js').Lack} lack
 * @param {Box} box
 * @param {'behind' | 'before'} side of the box
 * @param {number} space mm
 * @param {number} scale
 * @param {Look} look
 */
export function flagLack(context, { bars, turn }, box, side, space, scale, look) {
  flag(context, turn ? `${said(bars)}: turn` : `+ ${said(bars)}`, box, side, space, scale, look);
}

/**
 * A flag at the end of bars that are now played another number of times. A stave higher than other flags: both may
 * stand at one barline.
 * @param {CanvasRenderingContext2D} context
 * @param {import('./lacking.js').Round} round
 * @param {number} space mm
 * @param {number} scale
 * @param {Look} look
 */
export function flagRound(context, { behind, bars, times }, space, scale, look) {
  const often = times === null ? 'as written' : times === 0 ? 'open' : `${times} times`;
  flag(context, `${said(bars)}: ${often}`, { ...behind, y0: behind.y0 - 3.2 * space }, 'behind', space, scale, look);
}

/** Bars by their numbers. @param {[number, number]} bars first and last */
const said = ([first, last]) => (first === last ? `${first}` : `${first}–${last}`);

/**
 * @param {CanvasRenderingContext2D} context
 * @param {string} words
 * @param {Box} box
 * @param {'behind' | 'before'} side
 * @param {number} space mm
 * @param {number} scale
 * @param {Look} look
 */
function flag(context, words, box, side, space, scale, look) {
  const u = space * scale;
  context.font = `600 ${(u * 2).toFixed(1)}px ui-sans-serif, system-ui, sans-serif`;
  context.textAlign = 'start';
  const wide = context.measureText(words).width + 1.2 * u;
  const at = (side === 'behind' ? box.x1 : box.x0) * scale;
  const x = Math.max(0, Math.min(at, context.canvas.width - wide));
  const top = (box.y0 - 4.5 * space) * scale;
  context.fillStyle = look.ink;
  context.fillRect(at - 0.2 * u, top, 0.4 * u, box.y1 * scale - top + u);
  context.fillRect(x, top, wide, 2.8 * u);
  context.fillStyle = look.paper;
  context.fillText(words, x + 0.6 * u, top + 2.1 * u);
}

/** The bar that was called, softly. @param {CanvasRenderingContext2D} context @param {Box} box @param {number} space @param {number} scale @param {Look} look */
export function glowBar(context, box, space, scale, look) {
  context.fillStyle = look.glow;
  const y = (box.y0 - 1.5 * space) * scale;
  context.fillRect(box.x0 * scale, y, (box.x1 - box.x0) * scale, (box.y1 - box.y0 + 3 * space) * scale);
}
