/**
 * The tune's thread drawn large: a key from mark to mark; two touches, or a drag, say from where to where.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 */
import { h } from './dom.js';
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

/**
 * What is decided about a stretch, in a word or two: "open", "4×".
 * @param {TuneView} view
 * @param {number} from
 * @param {number} to not included
 */
export function decidedOf(view, from, to) {
  const again = view.again.find(([first, last]) => first < to && last >= from);
  if (again) return again[3] ? `${again[3]}×` : 'open';
  return view.tacet.some((one) => one.ranges.some(([first, last]) => first < to && last >= from)) ? 'some tacet' : '';
}

/**
 * @param {TuneView} view
 * @param {object} now
 * @param {string} now.first what is chosen
 * @param {string} now.until
 * @param {(first: string, until: string) => void} now.chosen
 */
export function largeThread(view, { first, until, chosen }) {
  /** @type {string | null} */ let dragged = null;
  // The first touch says from where, the second up to where.
  const touch = (/** @type {string} */ said) => (first === '' || until !== '' ? chosen(said, '') : chosen(first, said));
  const keys = stretchesOf(view).map(({ from, to, mark, pass }) => {
    const said = saidAs(view, from);
    const decided = decidedOf(view, from, to);
    const one = h(
      'button.stretch',
      {
        type: 'button',
        'data-from': said,
        'data-cut': isCut(view, from) && isCut(view, to - 1),
        'data-pass': pass,
        'data-decided': decided,
        'aria-pressed': first === said,
        onclick: () => touch(said),
        onpointerdown: () => {
          dragged = said;
        },
      },
      h('b', {}, mark || (from === 0 ? 'Top' : `${view.written[from][1]}`), ...(pass > 1 ? [h('sup', {}, String(pass))] : [])),
      h('i.line'),
      h('small', {}, decided || `${to - from}`),
    );
    one.style.flexGrow = String(to - from);
    return one;
  });
  const end = h('button.stretch.end', { type: 'button', 'data-from': 'end', onclick: () => touch('end') }, h('b', {}, 'End'), h('i.line'));
  // A finger's pointer stays with the key that it came down on, a mouse's does not: what lies under it says where it is.
  const lift = (/** @type {PointerEvent} */ event) => {
    const said = document.elementFromPoint(event.clientX, event.clientY)?.closest('.stretch')?.getAttribute('data-from');
    if (said && dragged !== null && said !== dragged) chosen(dragged, said);
    dragged = null;
  };
  return h('div.large-thread', { onpointerup: lift }, ...keys, end);
}
