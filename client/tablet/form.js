/**
 * The Form: the tune's bars as one large thread from mark to mark; touch (or drag) from where to where, or say it in
 * words; choose what is to happen there. Above, what is open now and its cue; below, what has been decided.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').EditKind} EditKind
 * @typedef {EditKind | 'once'} Choice
 */
import { bandPicker } from './band-picker.js';
import { cueKeys } from './cue-keys.js';
import { decisions } from './decisions.js';
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';
import { newId } from './ids.js';
import { largeThread } from './large-thread.js';

/** What can be decided: its key, and the words around its places. @type {Record<string, {label: string, from: string, to: string, act: string}>} */
const CHOICES = {
  cut: { label: 'Cut', from: 'Cut from', to: 'up to, not including', act: 'Cut' },
  times: { label: 'Times', from: 'Play from', to: 'up to, not including', act: 'Play' },
  once: { label: 'Once only', from: 'Once only, from', to: 'up to, not including', act: 'Once only' },
  open: { label: 'Open', from: 'Open until cued, from', to: 'up to, not including', act: 'Open' },
  tacet: { label: 'Tacet', from: 'Tacet from', to: 'up to, not including', act: 'Tacet' },
  'go-to': { label: 'Go to', from: 'At', to: 'go to', act: 'Go' },
  'no-repeats': { label: 'No repeats', from: '', to: '', act: 'No repeats' },
  'no-jumps': { label: 'No D.S., D.C.', from: '', to: '', act: 'No D.S.' },
};
const MOST_TIMES = 99;

/**
 * Whether repeats are taken again after the D.S. or D.C.: no decision for tonight but how the tune is meant.
 * @param {TuneView} view
 * @param {(command: Command) => void} ask
 */
function repeatsSwitch(view, ask) {
  const choice = (/** @type {boolean} */ taken, /** @type {string} */ label) =>
    key(label, () => ask({ type: 'take-repeats', tune: view.tune, taken }), { 'data-repeats': taken, 'aria-pressed': view.repeats_after_jump === taken });
  return h(
    'section.repeats',
    {},
    h('h2', {}, 'Repeats after the D.S. or D.C.'),
    h('div.choices', { role: 'group', 'aria-label': 'Repeats after the D.S. or D.C.' }, choice(false, 'Not taken again'), choice(true, 'Taken again')),
    h('p.quiet', {}, 'For this tune, on every date.'),
  );
}

export class Form {
  element = h('main.form', { 'data-of': 'form' });
  #first = '';
  #until = '';
  /** @type {Choice} */ #choice = 'cut';
  #times = 4;
  /** @type {Set<string>} */ #chairs = new Set();
  /** @type {Set<string>} */ #sections = new Set();
  #typing = false;
  /** How often places were chosen by touch: then the fields follow. */ #chosen = 0;
  /** @type {Map<string, {element: HTMLElement, shows: string}>} */ #slots = new Map();

  /**
   * @param {Room} room
   * @param {object} to
   * @param {(command: Command) => Promise<boolean>} to.ask
   * @param {() => TuneView | undefined} to.tune the tune that this stand is on
   * @param {() => void} to.leave
   */
  constructor(room, to) {
    this.room = room;
    this.to = to;
  }

  draw() {
    const { room } = this;
    const view = this.to.tune();
    const ask = (/** @type {Command} */ command) => void this.to.ask(command);
    this.#put('head', [view?.title], () => [
      h(
        'header.now',
        {},
        h('div', {}, h('p.over', {}, 'Form'), h('h1', {}, view?.title ?? 'No tune')),
        key('My page', this.to.leave, { 'data-do': 'leave' }),
      ),
      ...(view?.diagnosis ? [h('p.why', {}, view.diagnosis)] : []),
    ]);
    const { position, band, presence } = room;
    const now = [view?.tune, view?.revision];
    this.#put('cues', [now, view?.edits, position.tune, position.cued, position.players, band], () => (view ? cueKeys(view, room, ask) : []));
    this.#put('thread', [view, this.#first, this.#until], () =>
      view ? [largeThread(view, { first: this.#first, until: this.#until, chosen: (first, until) => this.#choose(first, until) })] : [],
    );
    this.#put('says', [view?.tune, this.#choice, this.#times, this.#typing, this.#chosen], () => (view ? [this.#says(view)] : []));
    this.#put('repeats', [view?.tune, view?.repeats_after_jump], () => (view && typeof view.repeats_after_jump === 'boolean' ? [repeatsSwitch(view, ask)] : []));
    this.#put('decided', [view, presence], () => (view ? [decisions(view, room, ask)] : []));
  }

  /**
   * Draw a piece of the screen anew only when what it shows has changed: a field that is being typed in stays, and so
   * does a key under a finger.
   * @param {string} name
   * @param {unknown} shows
   * @param {() => Node[]} make
   */
  #put(name, shows, make) {
    let slot = this.#slots.get(name);
    if (!slot) {
      slot = { element: h('div.slot', { 'data-slot': name }), shows: '' };
      this.#slots.set(name, slot);
      this.element.append(slot.element);
    }
    const now = JSON.stringify(shows);
    if (slot.shows === now) return;
    slot.shows = now;
    slot.element.replaceChildren(...make());
  }

  /** @param {string} first @param {string} until */
  #choose(first, until) {
    this.#first = first;
    this.#until = until;
    this.#chosen++;
    this.draw();
  }

  #said() {
    return [this.#choice, this.#first, this.#until, ...this.#chairs, ...this.#sections].join('\n');
  }

  #ready() {
    if (this.#choice === 'no-repeats' || this.#choice === 'no-jumps') return true;
    // "Bars 33-40" and "C to D" say both places in one breath; the hub tells where only one was said.
    const named = this.#until.trim() !== '' ? this.#first.trim() !== '' : /\S[ -]\S/.test(this.#first);
    return named && (this.#choice !== 'tacet' || this.#chairs.size + this.#sections.size > 0);
  }

  /** @param {TuneView} view */
  #says(view) {
    const { from, to, act } = CHOICES[this.#choice];
    const decide = (/** @type {boolean} */ kept) => () => void this.#decide(view, kept);
    const tonight = key(`${act} for tonight`, decide(false), { 'data-do': this.#choice, className: 'key strong', disabled: !this.#ready() });
    const kept = key(`${act} and keep`, decide(true), { 'data-do': `${this.#choice}-keep`, disabled: !this.#ready() });
    const follow = () => {
      for (const one of [tonight, kept]) Object.assign(one, { disabled: !this.#ready() });
    };
    const first = field({ label: 'From', hint: '4 before C', value: this.#first, changed: (value) => ((this.#first = value), follow()) });
    const until = field({ label: 'Up to', hint: 'D', value: this.#until, changed: (value) => ((this.#until = value), follow()) });
    let target = first;
    first.onfocus = () => (target = first);
    until.onfocus = () => (target = until);
    first.dataset.field = 'first';
    until.dataset.field = 'until';
    const type = key(this.#typing ? 'No keys' : 'Type a place', () => {
      this.#typing = !this.#typing;
      this.draw();
    }, { 'data-do': 'type', className: 'key plain' });
    return h(
      'section.says',
      {},
      h('div.choices', { role: 'group', 'aria-label': 'What is decided' }, ...Object.entries(CHOICES).map(([choice, { label }]) => this.#choiceKey(/** @type {Choice} */ (choice), label))),
      ...(from ? [h('div.sentence', {}, h('label', {}, from, first), h('label', {}, to, until))] : []),
      ...(from && this.#typing ? [drawnKeys(() => target, ['before', 'after', 'bar', 'second time'])] : []),
      ...(this.#choice === 'times' ? [this.#stepper()] : []),
      ...(this.#choice === 'tacet' ? [bandPicker(this.room, this.#sections, this.#chairs, follow)] : []),
      h('div.acts', {}, ...(from ? [type] : []), kept, tonight),
    );
  }

  /** @param {Choice} choice @param {string} label */
  #choiceKey(choice, label) {
    const chosen = () => {
      this.#choice = choice;
      this.draw();
    };
    return key(label, chosen, { 'data-choice': choice, 'aria-pressed': this.#choice === choice });
  }

  #stepper() {
    const step = (/** @type {number} */ by) => () => {
      this.#times = Math.min(MOST_TIMES, Math.max(2, this.#times + by));
      this.draw();
    };
    return h(
      'div.stepper',
      { role: 'group', 'aria-label': 'How often in all' },
      key('−', step(-1), { 'data-do': 'fewer', 'aria-label': 'Fewer times' }),
      h('output', { 'data-times': this.#times }, `${this.#times} times in all`),
      key('+', step(1), { 'data-do': 'more', 'aria-label': 'More times' }),
    );
  }

  /** @param {TuneView} view @param {boolean} kept */
  async #decide(view, kept) {
    const once = this.#choice === 'once';
    const tacet = this.#choice === 'tacet';
    const said = this.#said();
    const done = await this.to.ask({
      type: 'say-edit',
      id: newId(),
      tune: view.tune,
      kind: /** @type {EditKind} */ (once ? 'times' : this.#choice),
      first: this.#first.trim(),
      until: this.#until.trim(),
      times: once ? 1 : this.#times,
      chairs: tacet ? [...this.#chairs] : [],
      sections: tacet ? [...this.#sections] : [],
      kept,
    });
    // What was typed while the hub answered is the next thing to be decided.
    if (!done || this.#said() !== said) return;
    this.#chairs.clear();
    this.#sections.clear();
    this.#choose('', '');
  }
}
