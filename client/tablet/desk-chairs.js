/**
 * Chairs and sections: added, renamed, put in order, taken out.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').Command} Command
 */
import { h, key } from './dom.js';
import { newId } from './ids.js';

export class DeskChairs {
  element = h('section.desk-chairs', { 'aria-label': 'Chairs' });
  #renamed = '';
  /** What the chair that is being renamed was called when that began. */ #was = '';
  #removing = '';

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
  }

  draw() {
    // A field that is being typed in stays.
    if (this.element.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement) return;
    const { sections } = this.room.band;
    // It has its new name, whoever gave it.
    if (this.#renamed && this.room.chairName(this.#renamed) !== this.#was) this.#renamed = '';
    this.element.replaceChildren(
      ...sections.map((section, s) =>
        h(
          'div.desk-section',
          { 'data-section': section.name },
          h('h2', {}, section.name),
          ...section.chairs.map((chair, n) => this.#chair(chair, section.name, n, section.chairs.length, s)),
        ),
      ),
      this.#add(sections.at(-1)?.name ?? ''),
    );
  }

  /** @param {{id: string, name: string}} chair @param {string} section @param {number} n @param {number} of @param {number} s */
  #chair({ id, name }, section, n, of, s) {
    if (this.#renamed === id) return this.#rename(id, name, section);
    const move = (/** @type {number} */ by) => () => this.#move(id, section, n, of, s, by);
    const last = s === this.room.band.sections.length - 1 && n === of - 1;
    const remove = this.#removing === id;
    return h(
      'div.desk-chair',
      { 'data-chair': id },
      h('span.desk-name', {}, name),
      key('Up', move(-1), { disabled: s === 0 && n === 0, 'aria-label': `${name} up`, 'data-do': 'up' }),
      key('Down', move(1), { disabled: last, 'aria-label': `${name} down`, 'data-do': 'down' }),
      key('Rename', () => this.#be(id, ''), { 'aria-label': `Rename ${name}`, 'data-do': 'rename' }),
      remove
        ? key('Really take out', () => void this.to.ask({ type: 'remove-chair', chair: id }), { 'data-do': 'remove-really', className: 'key strong' })
        : key('Take out', () => this.#be('', id), { 'aria-label': `Take ${name} out`, 'data-do': 'remove' }),
    );
  }

  /** @param {string} renamed @param {string} removing */
  #be(renamed, removing) {
    this.#renamed = renamed;
    this.#was = this.room.chairName(renamed);
    this.#removing = removing;
    this.draw();
    if (renamed) this.element.querySelector('input')?.focus();
  }

  /** Within its section, and over its edge into the next. @param {string} chair @param {string} section @param {number} n @param {number} of @param {number} s @param {number} by */
  #move(chair, section, n, of, s, by) {
    const to = n + by;
    if (to >= 0 && to < of) void this.to.ask({ type: 'move-chair', chair, section, place: to });
    else {
      const next = this.room.band.sections[s + by];
      if (next) void this.to.ask({ type: 'move-chair', chair, section: next.name, place: by > 0 ? 0 : next.chairs.length });
    }
  }

  /** @param {string} id @param {string} name @param {string} section */
  #rename(id, name, section) {
    const called = field('Chair', name, 'chair-name');
    const sits = field('Section', section, 'chair-section');
    const done = async () => {
      if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
      const there = this.room.band.sections.find((one) => one.name === sits.input.value.trim());
      let fine = called.input.value.trim() === name || (await this.to.ask({ type: 'rename-chair', chair: id, name: called.input.value }));
      if (fine && sits.input.value.trim() !== section)
        fine = await this.to.ask({ type: 'move-chair', chair: id, section: sits.input.value, place: there?.chairs.length ?? 0 });
      if (fine) this.#be('', '');
    };
    return h('div.desk-where', { 'data-chair': id }, called.label, sits.label, key('Set', () => void done(), { 'data-do': 'rename-done', className: 'key strong' }), key('Leave it', () => this.#be('', ''), {}));
  }

  /** @param {string} section */
  #add(section) {
    const called = field('New chair', '', 'new-chair');
    const sits = field('in section', section, 'new-section');
    const done = async () => {
      if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
      if (await this.to.ask({ type: 'add-chair', id: newId(), name: called.input.value, section: sits.input.value, place: null })) this.draw();
    };
    return h('div.desk-where', {}, called.label, sits.label, key('Add', () => void done(), { 'data-do': 'add-chair', className: 'key strong' }));
  }
}

/** @param {string} words @param {string} value @param {string} hook */
function field(words, value, hook) {
  const input = /** @type {HTMLInputElement} */ (h('input', { value, autocomplete: 'off', 'data-field': hook }));
  input.onkeydown = (event) => event.stopPropagation();
  return { input, label: h('label', {}, words, input) };
}
