/**
 * The stand's page: 148 mm wide until the glass is measured, as tall as the glass is in portrait (common practice: 148
 * by 197 on a tablet of 3:4). Landscape shows the portrait page, centred.
 */
export const WIDTH = 148;
const LEAST = 1.2;
/** A page taller than this looks small on a wide screen: only glass that is turned in the hand gets one, */
const TALL = 1.7;
/** and no page is taller than this: today's telephones are 2.2 times as tall as wide, the tallest 2.4 (from memory). */
const MOST = 2.4;
const USUAL = 197 / 148;

/**
 * @typedef {object} Shape
 * @property {[number, number]} page mm
 * @property {number} scale CSS px a mm
 * @property {number} left CSS px
 * @property {number} top CSS px
 */

/**
 * Whether a laying is for this shape of page.
 * @param {import('./wire.js').Laying} laying
 * @param {Shape} shape
 */
export const isLaidFor = (laying, { page }) => laying.page[0] === page[0] && laying.page[1] === page[1];

/**
 * @param {number} width CSS px
 * @param {number} height CSS px
 * @param {boolean} touched the glass is touched, so that it may be held upright
 * @returns {Shape}
 */
export function shapeFor(width, height, touched) {
  const tall = Math.max(width, height) / Math.max(1, Math.min(width, height));
  const upright = touched || height >= width;
  const ratio = tall < LEAST || (tall > TALL && !upright) ? USUAL : Math.min(tall, MOST);
  // Whole millimetres, so that a line of pixels more or less is not another shape to lay for.
  const page = /** @type {[number, number]} */ ([WIDTH, Math.round(WIDTH * ratio)]);
  const scale = Math.min(width / page[0], height / page[1]);
  return { page, scale, left: (width - page[0] * scale) / 2, top: (height - page[1] * scale) / 2 };
}
