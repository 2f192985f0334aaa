import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isPedal, mayBeTaught, turnOf } from '../../client/tablet/pedal.js';

/** Names of keys: W3C, UI Events KeyboardEvent key Values. What pedals send is common practice. */
const press = (key, more = {}) => turnOf({ key, repeat: false, ...more });

test('pedals turn on and back', () => {
  for (const key of ['PageDown', 'ArrowRight', 'ArrowDown', ' ', 'Enter']) assert.equal(press(key), 'on');
  for (const key of ['PageUp', 'ArrowLeft', 'ArrowUp']) assert.equal(press(key), 'back');
  assert.equal(press('a'), null);
});

test('a foot that rests on the pedal turns once', () => {
  assert.equal(press('PageDown', { repeat: true }), null);
  assert.equal(isPedal('PageDown'), true);
});

test('a key with a modifier is the browser’s', () => {
  for (const held of ['ctrlKey', 'altKey', 'metaKey']) assert.equal(press('ArrowLeft', { [held]: true }), null);
});

test('a pedal key may be taught, a key that writes or leads elsewhere may not', () => {
  for (const key of ['PageUp', 'Enter', ' ', 'F5', 'MediaPlayPause', 'ArrowLeft']) assert.equal(mayBeTaught({ key }), true);
  for (const key of ['a', 'É', '7', 'Tab', 'Escape', 'Shift']) assert.equal(mayBeTaught({ key }), false);
  assert.equal(mayBeTaught({ key: 'PageUp', ctrlKey: true }), false);
});
