/**
 * How pages are put on the glass: each on a layer of its own that is shown or hidden by its opacity, so that a turn
 * asks for no new raster. Nobody else knows whether a page is a canvas or a picture.
 */
import { Leaf } from './leaf.js';
import { inLull, onceSeen } from './moments.js';

export class Glass {
  /** @type {Map<string, Leaf>} */ #leaves = new Map();
  /** @type {string | null} */ #shown = null;
  #merging = false;

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

  /** A page as composed, or a card of words in its place. @param {string} key @param {ImageBitmap | HTMLElement} content */
  add(key, content) {
    const before = this.#leaves.get(key);
    const leaf = new Leaf(content);
    this.#leaves.set(key, leaf);
    if (before) before.element.replaceWith(leaf.element);
    else this.#warm(key, leaf);
  }

  /** Show a new picture once under the visible page: the first show of a layer is several times dearer. @param {string} key @param {Leaf} leaf */
  #warm(key, { element }) {
    element.style.opacity = '1';
    this.element.prepend(element);
    if (this.#shown === null) return;
    onceSeen(() => {
      if (key !== this.#shown) element.style.opacity = '0';
    });
  }

  /** Put a page that is here on the glass. @param {string} key */
  show(key) {
    if (key === this.#shown || !this.#leaves.has(key)) return;
    this.#shown = key;
    // Opacity alone: the order of the layers stays, so that nothing is painted anew.
    for (const [one, { element }] of this.#leaves) element.style.opacity = one === key ? '1' : '0';
    onceSeen(() => this.#mergeInLull());
  }

  /** To draw over a page, on what lies over it already; null when there is none. @param {string} key */
  over(key) {
    this.#mergeInLull();
    return this.#leaves.get(key)?.over() ?? null;
  }

  /** Nothing lies over a page any more. @param {string} key */
  uncover(key) {
    this.#leaves.get(key)?.uncover();
  }

  /** Pages that are not seen are made one with what lies over them, one page a lull, so that no turn is kept waiting. */
  #mergeInLull() {
    if (this.#merging) return;
    this.#merging = true;
    inLull(() => {
      this.#merging = false;
      for (const [key, leaf] of this.#leaves) {
        if (key === this.#shown || !leaf.isApart || !leaf.merge()) continue;
        this.#warm(key, leaf);
        this.#mergeInLull();
        return;
      }
    });
  }

  /** Let go of every page but these and the visible one. @param {Set<string>} wanted */
  keep(wanted) {
    for (const [key, leaf] of this.#leaves) {
      if (wanted.has(key) || key === this.#shown) continue;
      leaf.element.remove();
      this.#leaves.delete(key);
    }
  }
}
