/**
 * Keys that we draw: a pedal is a keyboard to the tablet and hides the one on the glass.
 */
import { h } from './dom.js';

const LETTERS = ['1234567890', 'QWERTYUIOP', 'ASDFGHJKL', 'ZXCVBNM'];

/**
 * A field that a hardware keyboard and the drawn keys both fill.
 * @param {object} options
 * @param {string} options.label
 * @param {string} [options.value]
 * @param {string} [options.hint]
 * @param {(value: string) => void} options.changed
 * @param {() => void} [options.entered]
 */
export function field({ label, value = '', hint = '', changed, entered = () => {} }) {
  const input = /** @type {HTMLInputElement} */ (
    h('input', { value, inputMode: 'none', autocomplete: 'off', spellcheck: false, placeholder: hint, 'aria-label': label })
  );
  input.setAttribute('autocapitalize', 'characters');
  input.oninput = () => changed(input.value);
  input.onkeydown = (event) => {
    event.stopPropagation();
    if (event.key === 'Enter') entered();
  };
  return input;
}

/**
 * The drawn keys for a field.
 * @param {() => HTMLInputElement} target the field they fill now
 * @param {string[]} [words] whole words as keys of their own, such as "before"
 */
export function drawnKeys(target, words = []) {
  const type = (/** @type {(value: string) => string} */ change) => () => {
    const input = target();
    input.value = change(input.value);
    input.dispatchEvent(new Event('input'));
  };
  const one = (/** @type {string} */ label, /** @type {(value: string) => string} */ change, kind = '') =>
    h(`button.drawn${kind}`, { type: 'button', onclick: type(change), onpointerdown: hold, 'aria-label': label }, label);
  const rows = LETTERS.map((row) => h('div.drawn-row', {}, ...[...row].map((letter) => one(letter, (value) => value + letter))));
  rows[3].append(one('Delete', (value) => value.slice(0, -1), '.wide'));
  if (words.length) {
    const spaced = (/** @type {string} */ word) => (/** @type {string} */ value) =>
      `${value.trimEnd()}${value.trim() ? ' ' : ''}${word} `;
    rows.push(h('div.drawn-row', {}, ...words.map((word) => one(word, spaced(word), '.wide'))));
  }
  rows.push(h('div.drawn-row', {}, one('Space', (value) => `${value} `, '.space'), one('Clear', () => '', '.wide')));
  return h('div.drawn-keys', {}, ...rows);
}

/** Keep the focus in the field. @param {Event} event */
const hold = (event) => event.preventDefault();
