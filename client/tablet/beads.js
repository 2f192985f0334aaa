/** Chairs as beads on a line: our sign for who is where, on the Door and on the Lead. */
import { h } from './dom.js';

/**
 * @param {object} chair
 * @param {string} chair.id
 * @param {string} chair.name
 * @param {boolean} chair.full whether the bead is filled
 * @param {string} chair.says what the bead means, in words
 * @param {() => void} [chair.touched] makes it a key
 * @param {boolean} [chair.chosen]
 */
export function bead({ id, name, full, says, touched, chosen }) {
  const inside = [h(full ? 'i.bead.full' : 'i.bead'), h('span', {}, name), h('small', {}, says)];
  const common = { 'data-chair': id, 'data-full': full, 'aria-label': `${name}, ${says}` };
  if (!touched) return h('div.beaded', { ...common, role: 'listitem' }, ...inside);
  return h('button.beaded', { ...common, type: 'button', onclick: touched, 'aria-pressed': Boolean(chosen) }, ...inside);
}
