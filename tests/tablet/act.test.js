import assert from 'node:assert/strict';
import { test } from 'node:test';
import { whoseStands } from '../../client/tablet/act.js';

const position = /** @type {import('../../client/tablet/wire.js').PositionView} */ ({
  type: 'position', call: 3, tune: 'ember', start: null, start_pass: 1, by: 'Keys', words: '', next: null, returns_to: null, previous: 2,
  cued: [], players: {}, item: '', next_item: '', after: 'Night Bus', after_by: 'Alto 1', device: 'k', after_device: 'a',
});

test('of two who called at once each is told whose stands, and so is a third', () => {
  assert.equal(whoseStands(position, 'Ember', 'k'), 'Alto 1 called Night Bus just before you: yours stands.');
  assert.equal(whoseStands(position, 'Ember', 'a'), 'Keys called Ember just after you: theirs stands.');
  assert.equal(whoseStands(position, 'Ember', 'd'), 'Alto 1 called Night Bus, Keys Ember just after: that stands.');
});

test('of two tablets that sign alike each is told its own', () => {
  const alike = { ...position, by: 'the leader', after_by: 'the leader' };
  assert.equal(whoseStands(alike, 'Ember', 'k'), 'The leader on another tablet called Night Bus just before you: yours stands.');
  assert.equal(whoseStands(alike, 'Ember', 'a'), 'The leader on another tablet called Ember just after you: theirs stands.');
  assert.equal(whoseStands(alike, 'Ember', 'd'), 'The leader called Night Bus, the leader on another tablet Ember just after: that stands.');
});

test('an ordinary call says nothing of the kind', () => {
  assert.equal(whoseStands({ ...position, after: '', after_by: '' }, 'Ember', 'k'), '');
  const { after, after_by: by, ...ofBefore } = position;
  assert.equal(whoseStands(ofBefore, 'Ember', 'k'), '', `${after} ${by}`);
});
