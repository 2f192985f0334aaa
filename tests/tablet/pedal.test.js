import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isPedal, turnOf } from '../../client/tablet/pedal.js';

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
