import assert from 'node:assert/strict';
import { test } from 'node:test';
import { inTurns } from '../../client/tablet/slips.js';

const short = (/** @type {number} */ most) => (/** @type {string} */ words) => words.length <= most;

test('words that fit are one slip', () => {
  assert.deepEqual(inTurns('Cut D to F', short(20)), ['Cut D to F']);
});

test('longer ones come in turns, all of their words in order, each with a sign that more comes', () => {
  const words = 'Cut D to F. Behind it: to flute, cup mute';
  const turns = inTurns(words, short(18));
  assert.ok(turns.length > 2 && turns.every(short(18)));
  assert.equal(turns.map((one) => one.replace(/ …$/, '')).join(' '), words);
  assert.deepEqual(turns.map((one) => one.endsWith('…')), [...turns.slice(1).map(() => true), false]);
});

test('a word that is longer than the line stands by itself', () => {
  assert.deepEqual(inTurns('to Quarterdeckstreet', short(5)), ['to …', 'Quarterdeckstreet']);
});
