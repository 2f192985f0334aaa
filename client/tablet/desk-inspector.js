/**
 * What can be said of the thing that is picked on a page.
 *
 * @typedef {import('./desk-things.js').Thing} Thing
 * @typedef {import('./desk-things.js').Reading} Reading
 * @typedef {import('./wire.js').Said} Said
 * @typedef {import('./wire.js').OnPage} OnPage
 */
import { h, key } from './dom.js';
import { BARLINES, SIGNS, called, countOf, edgeOf, endingFrom, gone, lineBelow, passesFrom, passesSaid } from './desk-things.js';

/**
 * A small form: a label, a field, a key.
 * @param {string} label
 * @param {string} value
 * @param {string} hook
 * @param {string} does what the key says
 * @param {(value: string) => void} done
 * @param {boolean} [number]
 */
export function say(label, value, hook, does, done, number = false) {
  const input = /** @type {HTMLInputElement} */ (
    h('input', { value, autocomplete: 'off', spellcheck: false, 'data-field': hook, inputMode: number ? 'numeric' : 'text' })
  );
  const act = () => done(input.value.trim());
  input.onkeydown = (event) => {
    event.stopPropagation();
    if (event.key === 'Enter') act();
  };
  return h('div.desk-say', {}, h('label', {}, label, input), key(does, act, { 'data-do': hook }));
}

/** @param {string} name @param {Record<string, string>} kinds @param {string} now @param {(kind: string) => void} chosen */
const choice = (name, kinds, now, chosen) =>
  h(
    'div.desk-kinds',
    { role: 'group', 'aria-label': name },
    ...Object.entries(kinds).map(([kind, words]) => key(words, () => chosen(kind), { 'data-kind': kind, 'aria-pressed': kind === now })),
  );

/**
 * The keys and fields for a thing.
 * @param {Thing} thing
 * @param {Reading} reading
 * @param {(said: Said | null) => void} correct null: it cannot be said so
 * @param {(what: 'mark' | 'sign') => void} put something new at the bar that is picked
 */
export function inspector(thing, reading, correct, put) {
  const { at } = thing;
  const away = gone(thing);
  const remove = away ? [key(thing.kind === 'system' ? 'No line of music here' : 'Take it away', () => correct(away), { 'data-do': 'remove', className: 'key' })] : [];
  const doubt = thing.system.doubt && (thing.kind === 'system' || !thing.sure) ? [h('p.why', {}, thing.system.doubt)] : [];
  return h('section.desk-picked', { 'data-picked': thing.kind, 'aria-label': 'What is picked' }, h('h2', {}, thing.says.split(',')[0]), ...doubt, ...parts(), ...remove);

  /** @returns {Node[]} */
  function parts() {
    if (thing.barline) {
      return [choice('Kind of barline', BARLINES, thing.barline.kind, (kind) => correct({ type: 'barline', at, kind, to: null }))];
    }
    if (thing.bar) return ofBar(thing.bar);
    if (thing.mark) {
      const { mark } = thing;
      return [
        say('It says', mark.text, 'mark-text', 'Set', (text) => correct(text ? { type: 'mark', at, text, to: null } : null)),
        say('It is of bar', String(called(reading, mark.bar)), 'mark-bar', 'Set', (bar) => correct(toBar(bar, mark.bar, 'start', (to) => ({ type: 'mark', at, text: mark.text, to }))), true),
      ];
    }
    if (thing.sign) {
      const { sign } = thing;
      /** @param {string} kind @param {string} edge @param {OnPage | null} to @returns {Said} */
      const said = (kind, edge, to) => ({ type: 'sign', at, kind, edge, to });
      return [
        choice('Kind of sign', SIGNS, sign.kind, (kind) => correct(said(kind, sign.at, null))),
        choice('Where in its bar', { start: 'At its start', end: 'At its end' }, sign.at, (edge) =>
          correct(said(sign.kind, edge, edgeOf(reading, sign.bar, edge === 'end' ? 'end' : 'start')))),
        say('It is of bar', String(called(reading, sign.bar)), 'sign-bar', 'Set', (bar) => correct(toBar(bar, sign.bar, sign.at === 'end' ? 'end' : 'start', (to) => said(sign.kind, sign.at, to))), true),
      ];
    }
    if (thing.ending) {
      const { ending } = thing;
      return [say('Played the times', passesSaid(ending.passes), 'ending-passes', 'Set', (words) => {
        const until = edgeOf(reading, ending.last_bar, 'end');
        const passes = passesFrom(words);
        // A little within the bar: its end is the next one's start.
        correct(until && passes.length ? { type: 'ending', at, until: [until[0], until[1] - thing.system.space, until[2]], passes } : null);
      })];
    }
    return [
      h('p.quiet', {}, thing.system.printed_number === null ? 'No bar number is printed at its head.' : `Bar number ${thing.system.printed_number} is printed at its head.`),
      key('This line is right', () => correct({ type: 'line-is-right', at }), { 'data-do': 'right', className: 'key strong' }),
      key('One more line below it', () => correct(lineBelow(thing)), { 'data-do': 'line-below' }),
    ];
  }

  /** @param {import('./desk-things.js').Bar} bar */
  function ofBar(bar) {
    let bars = '1';
    const many = /** @type {HTMLInputElement} */ (h('input', { value: bars, inputMode: 'numeric', 'aria-label': 'Bars in the ending', 'data-field': 'ending-bars' }));
    many.onkeydown = (event) => event.stopPropagation();
    many.oninput = () => (bars = many.value);
    return [
      h(
        'div.desk-kinds',
        {},
        key('Barline in its middle', () => correct({ type: 'barline', at, kind: '', to: null }), { 'data-do': 'split' }),
        key('A mark here', () => put('mark'), { 'data-do': 'put-mark' }),
        key('A sign here', () => put('sign'), { 'data-do': 'put-sign' }),
      ),
      say('This bar is', String(called(reading, bar.number)), 'number', 'Set', (n) => correct(counted(n, 0, (number) => ({ type: 'number', at, number }))), true),
      say('Bars of rest', String(bar.count), 'rest', 'Set', (n) => correct(counted(n, 1, (count) => ({ type: 'rest', at, count }))), true),
      h('label', {}, 'An ending begins here, so many bars long', many),
      say('played the times', '1', 'ending', 'Set', (words) => correct(endingFrom(reading, thing, Number(bars), passesFrom(words)))),
    ];
  }

  /** @param {string} words @param {number} least @param {(n: number) => Said} made @returns {Said | null} */
  function counted(words, least, made) {
    const n = Number(words);
    return words !== '' && Number.isInteger(n) && n >= least ? made(n) : null;
  }

  /** @param {string} bar as musicians call it @param {number} from @param {'start' | 'end'} edge @param {(to: OnPage) => Said} made @returns {Said | null} */
  function toBar(bar, from, edge, made) {
    const to = /^\d+$/.test(bar) ? edgeOf(reading, countOf(reading, Number(bar), from), edge) : null;
    return to && made(to);
  }
}
