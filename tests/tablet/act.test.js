import assert from 'node:assert/strict';
import { test } from 'node:test';
import { whoseStands } from '../../client/tablet/act.js';

const position = /** @type {import('../../client/tablet/wire.js').PositionView} */ ({
  type: 'position', call: 3, tune: 'ember', start: null, start_pass: 1, by: 'Keys', words: '', next: null, returns_to: null, previous: 2,
  cued: [], players: {}, item: '', next_item: '', after: 'Night Bus', after_by: 'Alto 1',
});

test('of two who called at once each is told whose stands, and so is a third', () => {
  assert.equal(whoseStands(position, 'Ember', 'Keys'), 'Alto 1 called Night Bus just before you: yours stands.');
  assert.equal(whoseStands(position, 'Ember', 'Alto 1'), 'Keys called Ember just after you: theirs stands.');
  assert.equal(whoseStands(position, 'Ember', 'Drums'), 'Alto 1 called Night Bus, Keys Ember just after: that stands.');
});

test('an ordinary call says nothing of the kind', () => {
  assert.equal(whoseStands({ ...position, after: '', after_by: '' }, 'Ember', 'Keys'), '');
  const { after, after_by: by, ...ofBefore } = position;
  assert.equal(whoseStands(ofBefore, 'Ember', 'Keys'), '', `${after} ${by}`);
});
