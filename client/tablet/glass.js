/**
 * How pages are put on the glass: each on a layer of its own that is shown or hidden by its opacity, so that a turn
 * asks for no new raster. Nobody else knows whether a page is a canvas or a picture.
 */

/** Show a new page once under the visible one: the first show of a layer is several times dearer. */
const UNDER = '1';
const FRONT = '2';

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
    const context = canvas.getContext('bitmaprenderer');
    if (context) context.transferFromImageBitmap(bitmap);
    else canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
    this.#put(key, canvas);
  }

  /** A card of words in place of a page. @param {string} key @param {HTMLElement} card */
  addCard(key, card) {
    this.#put(key, card);
  }

  /** @param {string} key @param {HTMLElement} content */
  #put(key, content) {
    this.#leaves.get(key)?.remove();
    const leaf = document.createElement('div');
    leaf.className = 'leaf';
    leaf.append(content);
    this.#leaves.set(key, leaf);
    this.element.append(leaf);
    if (key === this.#shown) return this.#front(leaf, true);
    leaf.style.zIndex = UNDER;
    if (this.#shown === null) return undefined;
    leaf.style.opacity = '1';
    requestAnimationFrame(() =>
      requestAnimationFrame(() => {
        if (key !== this.#shown) leaf.style.opacity = '0';
        leaf.style.zIndex = key === this.#shown ? FRONT : '0';
      }),
    );
    return undefined;
  }

  /** @param {HTMLElement} leaf @param {boolean} front */
  #front(leaf, front) {
    leaf.style.opacity = front ? '1' : '0';
    leaf.style.zIndex = front ? FRONT : '0';
  }

  /** Put a page that is here on the glass. @param {string} key */
  show(key) {
    if (key === this.#shown) return;
    const leaf = this.#leaves.get(key);
    if (!leaf) return;
    const before = this.#shown === null ? undefined : this.#leaves.get(this.#shown);
    this.#shown = key;
    this.#front(leaf, true);
    if (before) this.#front(before, false);
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

  /** Whether a page has a layer over it. @param {string} key */
  hasOver(key) {
    return Boolean(this.#leaves.get(key)?.querySelector('canvas.over'));
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
