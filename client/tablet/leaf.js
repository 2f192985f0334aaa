/**
 * One page on the glass and what lies over it. What is drawn over a page that is seen has a layer of its own. While the
 * page is not seen the two become one picture: a second layer of its size makes a turn half as dear again, and so does
 * a canvas that is drawn on in place of a picture (measured).
 */
export class Leaf {
  element = document.createElement('div');
  /** The page as composed; null: a card of words. @type {HTMLCanvasElement | null} */ #page;
  /** It and what lies over it, as one picture. @type {HTMLCanvasElement | null} */ #inked = null;
  /** What was drawn since they were one. @type {HTMLCanvasElement | null} */ #over = null;

  /** @param {ImageBitmap | HTMLElement} content */
  constructor(content) {
    this.element.className = 'leaf';
    this.#page = content instanceof ImageBitmap ? pictured(document.createElement('canvas'), content) : null;
    this.element.append(this.#page ?? /** @type {HTMLElement} */ (content));
  }

  /** Whether two layers would be shown. */
  get isApart() {
    return this.#over !== null;
  }

  /** To draw over the page, on what lies over it already. @returns {CanvasRenderingContext2D | null} null: no page */
  over() {
    if (!this.#page) return null;
    if (!this.#over) {
      this.#over = document.createElement('canvas');
      this.#over.width = this.#page.width;
      this.#over.height = this.#page.height;
      this.element.append(this.#over);
    }
    return this.#over.getContext('2d');
  }

  /** Nothing lies over the page any more. */
  uncover() {
    if (this.#page) this.#inked?.replaceWith(this.#page);
    this.#over?.remove();
    this.#inked = this.#over = null;
  }

  /** Make one picture of the page and what lies over it. @returns {boolean} whether it could be done */
  merge() {
    const under = this.#inked ?? this.#page;
    if (!under || !this.#over || typeof OffscreenCanvas === 'undefined') return false;
    const both = new OffscreenCanvas(under.width, under.height);
    const context = both.getContext('2d', { alpha: false });
    if (!context) return false;
    context.drawImage(under, 0, 0);
    context.drawImage(this.#over, 0, 0);
    this.#inked ??= document.createElement('canvas');
    pictured(this.#inked, both.transferToImageBitmap());
    under.replaceWith(this.#inked);
    this.#over.remove();
    this.#over = null;
    return true;
  }
}

/** A canvas that shows a picture. @param {HTMLCanvasElement} canvas @param {ImageBitmap} bitmap */
function pictured(canvas, bitmap) {
  canvas.width = bitmap.width;
  canvas.height = bitmap.height;
  // Without transparency: what lies under the visible page need not be drawn.
  const context = canvas.getContext('bitmaprenderer', { alpha: false });
  if (context) context.transferFromImageBitmap(bitmap);
  else canvas.getContext('2d', { alpha: false })?.drawImage(bitmap, 0, 0);
  return canvas;
}
