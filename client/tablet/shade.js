/**
 * The shade on bars that are no longer played: paled and hatched as far as their ink goes, still to be read.
 *
 * @typedef {import('./wire.js').LaidPage} LaidPage
 * @typedef {import('./wire.js').Pieces} Pieces
 * @typedef {import('./look.js').Look} Look
 * @typedef {import('./anchor.js').Box} Box
 */
import { nearestLine } from './anchor.js';

/**
 * How far up and down the ink of bars goes, mm on the page, and a staff space more. Ink is the line's whose staves its
 * own origin is nearest to: a row of chord names may have been raised.
 * @param {LaidPage} page
 * @param {Pieces | null} pieces
 * @param {Box[][]} lines all boxes of the page
 * @param {Box[]} boxes some of them
 * @param {number} space mm
 * @returns {[top: number, bottom: number][]} of each box
 */
export function reachesOf(page, pieces, lines, boxes, space) {
  const byId = new Map(pieces?.pieces.map((piece) => [piece.id, piece]));
  const inks = [
    ...page.placed.flatMap(({ piece: id, y, space: of, slices }) => {
      const piece = byId.get(id);
      if (!piece) return [];
      const [top, bottom] = [y + piece.top * of, y + piece.bottom * of];
      return slices.map(([, , x0, x1]) => ({ x0, x1, top, bottom, y }));
    }),
    ...page.words.map(({ x, y, size }) => ({ x0: x, x1: x + size / 2, top: y - size, bottom: y, y })),
  ].map((one) => ({ ...one, line: nearestLine(lines, one.y) }));
  return boxes.map((box) => {
    const own = inks.filter(({ x0, x1, line }) => line.includes(box) && x0 < box.x1 && x1 > box.x0);
    return [
      Math.min(box.y0, ...own.map(({ top }) => top)) - space,
      Math.max(box.y1, ...own.map(({ bottom }) => bottom)) + space,
    ];
  });
}

/**
 * @param {CanvasRenderingContext2D} context
 * @param {Box[]} boxes of one line, in order
 * @param {[top: number, bottom: number][]} reaches of each, mm
 * @param {number} space mm
 * @param {number} scale
 * @param {Look} look
 */
export function shadeBars(context, boxes, reaches, space, scale, look) {
  for (const [n, box] of boxes.entries()) {
    const [x, w] = [Math.round(box.x0 * scale), Math.round(box.x1 * scale) - Math.round(box.x0 * scale)];
    const [y, h] = [reaches[n][0] * scale, (reaches[n][1] - reaches[n][0]) * scale];
    context.save();
    context.beginPath();
    context.rect(x, y, w, h);
    context.clip();
    context.globalAlpha = 0.55;
    context.fillStyle = look.paper;
    context.fillRect(x, y, w, h);
    context.globalAlpha = 0.75;
    context.strokeStyle = look.shade;
    context.lineWidth = Math.max(1, space * scale * 0.12);
    const gap = space * scale * 2;
    context.beginPath();
    // Counted from the page's corner, so that the hatching runs on from bar to bar.
    for (let c = Math.floor((x + y) / gap) * gap; c < x + w + y + h; c += gap) {
      context.moveTo(c - y, y);
      context.lineTo(c - y - h, y + h);
    }
    context.stroke();
    context.restore();
  }
}
