/**
 * The stand's page: 148 mm wide until the glass is measured, as tall as the glass is in portrait (common practice: 148
 * by 197 on a tablet of 3:4). Landscape shows the portrait page, centred.
 */
export const WIDTH = 148;
const LEAST = 1.2;
const MOST = 1.7;
const USUAL = 197 / 148;

/**
 * @typedef {object} Shape
 * @property {[number, number]} page mm
 * @property {number} scale CSS px a mm
 * @property {number} left CSS px
 * @property {number} top CSS px
 */

/**
 * @param {number} width CSS px
 * @param {number} height CSS px
 * @returns {Shape}
 */
export function shapeFor(width, height) {
  const tall = Math.max(width, height) / Math.max(1, Math.min(width, height));
  const ratio = tall < LEAST || tall > MOST ? USUAL : tall;
  // Whole millimetres, so that a line of pixels more or less is not another shape to lay for.
  const page = /** @type {[number, number]} */ ([WIDTH, Math.round(WIDTH * ratio)]);
  const scale = Math.min(width / page[0], height / page[1]);
  return { page, scale, left: (width - page[0] * scale) / 2, top: (height - page[1] * scale) / 2 };
}
