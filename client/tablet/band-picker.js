/** Chairs and whole sections, to be chosen by touch. */
import { h, key } from './dom.js';

/**
 * @param {import('./room.js').Room} room
 * @param {Set<string>} sections those chosen, by name
 * @param {Set<string>} chairs those chosen, by id
 * @param {() => void} changed
 */
export function bandPicker(room, sections, chairs, changed) {
  const toggle = (/** @type {Set<string>} */ set, /** @type {string} */ id, /** @type {string} */ label, /** @type {string} */ kind) => {
    const one = key(label, () => {
      if (!set.delete(id)) set.add(id);
      one.setAttribute('aria-pressed', String(set.has(id)));
      changed();
    }, { [`data-${kind}`]: id, 'aria-pressed': set.has(id) });
    return one;
  };
  return h(
    'div.picker',
    { role: 'group', 'aria-label': 'Who' },
    ...room.band.sections.map((section) =>
      h(
        'div.pick',
        {},
        toggle(sections, section.name, `All ${section.name}`, 'section'),
        ...section.chairs.map((chair) => toggle(chairs, chair.id, chair.name, 'chair')),
      ),
    ),
  );
}
