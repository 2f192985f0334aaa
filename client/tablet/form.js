/**
 * The Form, in a first shape: the tune's bars as one large thread from mark to mark; touch (or drag) from where to
 * where, or say it in words; cut. Below, what has been decided, each with take back.
 *
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').TuneView} TuneView
 */
import { h, key } from './dom.js';
import { drawnKeys, field } from './drawn-keys.js';
import { newId } from './ids.js';
import { isCut, timeSaid } from './order.js';

/**
 * Stretches of the written order between marks (or passes): what the large thread is made of.
 * @param {TuneView} view
 * @returns {{from: number, to: number, mark: string, pass: number}[]} positions, `to` not included
 */
export function stretchesOf(view) {
  /** @type {{from: number, to: number, mark: string, pass: number}[]} */ const found = [];
  view.written.forEach(([, , pass, mark], position) => {
    const last = found.at(-1);
    if (last && mark === '' && pass === last.pass) last.to = position + 1;
    else found.push({ from: position, to: position + 1, mark, pass });
  });
  return found;
}

/** How a place is said: by its mark, else by its bar; the first time means every time. @param {TuneView} view @param {number} position */
export function saidAs(view, position) {
  const step = view.written[position];
  if (!step) return 'end';
  return `${step[3] || (position === 0 ? 'top' : `bar ${step[1]}`)}${timeSaid(step[2])}`;
}

export class Form {
  element = h('main.form', { 'data-of': 'form' });
  #first = '';
  #until = '';
  /** @type {number | null} */ #from = null;
  #typing = false;

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
    const view = this.to.tune();
    const head = h(
      'header.now',
      {},
      h('div', {}, h('p.over', {}, 'Form'), h('h1', {}, view?.title ?? 'No tune')),
      key('My page', this.to.leave, { 'data-do': 'leave' }),
    );
    if (!view) return this.element.replaceChildren(head);
    const diagnosis = view.diagnosis ? [h('p.why', {}, view.diagnosis)] : [];
    return this.element.replaceChildren(head, ...diagnosis, this.#thread(view), this.#says(), this.#decided(view));
  }

  /** @param {TuneView} view */
  #thread(view) {
    const keys = stretchesOf(view).map((stretch) => {
      const { from, to, mark, pass } = stretch;
      const cut = isCut(view, from) && isCut(view, to - 1);
      const chosen = this.#from === from || this.#first === saidAs(view, from);
      const one = h(
        'button.stretch',
        {
          type: 'button',
          'data-from': saidAs(view, from),
          'data-cut': cut,
          'data-pass': pass,
          'aria-pressed': chosen,
          onclick: () => this.#touch(view, from),
          onpointerdown: () => {
            this.#from = from;
          },
        },
        h('b', {}, mark || (from === 0 ? 'Top' : `${view.written[from][1]}`), ...(pass > 1 ? [h('sup', {}, String(pass))] : [])),
        h('i.line'),
        h('small', {}, `${to - from}`),
      );
      one.style.flexGrow = String(to - from);
      one.onpointerup = (event) => {
        const under = document.elementFromPoint(event.clientX, event.clientY)?.closest('.stretch');
        const start = this.#from;
        this.#from = null;
        if (!under || under === one || start === null) return;
        this.#choose(saidAs(view, start), under.getAttribute('data-from') ?? '');
      };
      return one;
    });
    const end = h('button.stretch.end', { type: 'button', 'data-from': 'end', onclick: () => this.#touch(view, view.written.length) }, h('b', {}, 'End'), h('i.line'));
    return h('div.large-thread', {}, ...keys, end);
  }

  /** The first touch says from where, the second up to where. @param {TuneView} view @param {number} position */
  #touch(view, position) {
    const said = saidAs(view, position);
    if (this.#first === '' || this.#until !== '') this.#choose(said, '');
    else this.#choose(this.#first, said);
  }

  /** @param {string} first @param {string} until */
  #choose(first, until) {
    this.#first = first;
    this.#until = until;
    this.draw();
  }

  #says() {
    const ready = () => this.#first.trim() !== '' && this.#until.trim() !== '';
    const cut = (/** @type {boolean} */ kept) => () => void this.#cut(kept);
    const tonight = key('Cut for tonight', cut(false), { 'data-do': 'cut', className: 'key strong', disabled: !ready() });
    const kept = key('Cut and keep', cut(true), { 'data-do': 'cut-keep', disabled: !ready() });
    const follow = () => {
      for (const one of [tonight, kept]) Object.assign(one, { disabled: !ready() });
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
      h('div.sentence', {}, h('label', {}, 'Cut from', first), h('label', {}, 'up to, not including', until)),
      ...(this.#typing ? [drawnKeys(() => target, ['before', 'after', 'bar', 'second time'])] : []),
      h('div.acts', {}, type, kept, tonight),
    );
  }

  /** @param {boolean} kept */
  async #cut(kept) {
    const view = this.to.tune();
    if (!view) return;
    const done = await this.to.ask({
      type: 'make-cut',
      id: newId(),
      tune: view.tune,
      first: this.#first.trim(),
      until: this.#until.trim(),
      kept,
    });
    if (done) this.#choose('', '');
  }

  /** @param {TuneView} view */
  #decided(view) {
    const here = this.room.presence.stands.filter((stand) => stand.here && stand.chairs.length);
    const have = here.filter((stand) => stand.revision >= view.revision).length;
    const rows = view.edits.map((edit) =>
      h(
        'div.decided',
        { 'data-edit': edit.id, role: 'listitem' },
        h('p', {}, edit.words, h('small', {}, edit.by)),
        key('Take back', () => void this.to.ask({ type: 'take-back-edit', edit: edit.id }), { 'data-do': 'take-back-edit' }),
      ),
    );
    const count = here.length && view.edits.length ? `${have} of ${here.length} stands have it.` : '';
    return h(
      'section.decisions',
      {},
      h('h2', {}, 'Decided'),
      h('div', { role: 'list' }, ...(rows.length ? rows : [h('p.quiet', {}, 'Nothing yet: the tune is played as written.')])),
      h('p.have', { 'data-have': have, 'data-here': here.length }, count),
    );
  }
}
