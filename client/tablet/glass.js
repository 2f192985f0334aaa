/**
 * How pages are put on the glass: each on a layer of its own that is shown or hidden by its opacity, so that a turn
 * asks for no new raster. Nobody else knows whether a page is a canvas or a picture.
 */
import { onceSeen } from './moments.js';

export class Glass {
  /** @type {Map<string, HTMLElement>} */ #leaves = new Map();
  /** @type {string | null} */ #shown = null;

  /** @param {HTMLElement} element the page's box */
  constructor(element) {
    this.element = element;
  }

  get shown() {
    return this.#shown;
  }

  /** @param {string} key */
  has(key) {
    return this.#leaves.has(key);
  }

  /** @param {string} key @param {ImageBitmap} bitmap */
  add(key, bitmap) {
    const canvas = document.createElement('canvas');
    canvas.width = bitmap.width;
    canvas.height = bitmap.height;
    // Without transparency: what lies under the visible page need not be drawn.
    const context = canvas.getContext('bitmaprenderer', { alpha: false });
    if (context) context.transferFromImageBitmap(bitmap);
    else canvas.getContext('2d', { alpha: false })?.drawImage(bitmap, 0, 0);
    this.#put(key, canvas);
  }

  /** A card of words in place of a page. @param {string} key @param {HTMLElement} card */
  addCard(key, card) {
    this.#put(key, card);
  }

  /** @param {string} key @param {HTMLElement} content */
  #put(key, content) {
    const before = this.#leaves.get(key);
    const leaf = document.createElement('div');
    leaf.className = 'leaf';
    leaf.append(content);
    this.#leaves.set(key, leaf);
    if (before) return before.replaceWith(leaf);
    // A new page is shown once under the visible one: the first show of a layer is several times dearer.
    this.element.prepend(leaf);
    if (this.#shown !== null) {
      onceSeen(() => {
        if (key !== this.#shown) leaf.style.opacity = '0';
      });
    }
    return undefined;
  }

  /** Put a page that is here on the glass. @param {string} key */
  show(key) {
    if (key === this.#shown || !this.#leaves.has(key)) return;
    this.#shown = key;
    // Opacity alone: the order of the layers stays, so that nothing is painted anew.
    for (const [one, leaf] of this.#leaves) leaf.style.opacity = one === key ? '1' : '0';
  }

  /** The layer over a page, for markings and shading: made when first asked for. @param {string} key */
  over(key) {
    const leaf = this.#leaves.get(key);
    const page = leaf?.querySelector('canvas');
    if (!leaf || !page) return null;
    const found = /** @type {HTMLCanvasElement | null} */ (leaf.querySelector('canvas.over'));
    if (found) return found;
    const over = document.createElement('canvas');
    over.className = 'over';
    over.width = page.width;
    over.height = page.height;
    leaf.append(over);
    return over;
  }

  /** Nothing lies over a page any more. @param {string} key */
  uncover(key) {
    this.#leaves.get(key)?.querySelector('canvas.over')?.remove();
  }

  /** Let go of every page but these and the visible one. @param {Set<string>} wanted */
  keep(wanted) {
    for (const [key, leaf] of this.#leaves) {
      if (wanted.has(key) || key === this.#shown) continue;
      leaf.remove();
      this.#leaves.delete(key);
    }
  }
}
