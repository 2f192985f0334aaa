import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isCut, pageHolding, played, positionOf, stepsOn } from '../../client/tablet/order.js';
import { vectors } from './vectors.js';

const view = {
  written: [['b1', 1, 1, 'A'], ['b2', 2, 1, ''], ['b1', 1, 2, 'A'], ['b3', 3, 2, ''], ['b4', 4, 1, 'B'], ['b5', 5, 1, '']],
  cut: [[1, 2], [5, 5]],
};

test('what is played is what is written without what is cut, both ends taken', () => {
  assert.deepEqual(played(view), [0, 3, 4]);
  assert.deepEqual([0, 1, 2, 3, 4, 5].map((position) => isCut(view, position)), [false, true, true, false, false, true]);
  assert.deepEqual(played({ ...view, cut: [] }), [0, 1, 2, 3, 4, 5]);
});

test('the played order of the tune as the hub sends it', () => {
  const tune = vectors('messages').from_hub.find(({ type }) => type === 'tune');
  assert.deepEqual(played(tune).map((position) => tune.written[position].slice(0, 3)), [['b0', 0, 1], ['b1', 1, 2]]);
});

test('a bar is found in its time through', () => {
  assert.equal(positionOf(view, 'b1', 1), 0);
  assert.equal(positionOf(view, 'b1', 2), 2);
  assert.equal(positionOf(view, 'b9', 1), null);
});

const page = (...steps) => ({ lines: [{ bars: steps.map((one) => ({ steps: one })) }] });

test('the page that holds a step; a step that no page shows belongs to the next one', () => {
  const laying = { pages: [page([0, 3], [4, 4]), page([6, 9]), { lines: [] }] };
  assert.deepEqual(stepsOn(laying.pages[0]), [0, 4]);
  assert.equal(stepsOn(laying.pages[2]), null);
  assert.deepEqual([0, 4, 5, 9, 99].map((step) => pageHolding(laying, step)), [0, 0, 1, 1, 2]);
});
