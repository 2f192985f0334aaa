import assert from 'node:assert/strict';
import { test } from 'node:test';
import { saidAs, stretchesOf } from '../../client/tablet/large-thread.js';
import { placesOf } from '../../client/tablet/lead.js';

const view = {
  written: [['b1', 1, 1, ''], ['b2', 2, 1, 'A'], ['b3', 3, 1, ''], ['b2', 2, 2, 'A'], ['b3', 3, 2, ''], ['b4', 4, 1, ''], ['b5', 5, 1, 'B']],
  cut: [[6, 6]],
};

test('"from" offers the top and every mark that is played, each time through by itself', () => {
  assert.deepEqual(placesOf(view).map(({ label, said, again }) => [label, said, again]), [
    ['Top', 'top', 0],
    ['A', 'A', 0],
    ['A', 'A second time', 1],
  ]);
});

test('the Form’s stretches make up the whole tune, from mark to mark and time to time', () => {
  const stretches = stretchesOf(view);
  assert.deepEqual(stretches.map(({ from, to }) => [from, to]), [[0, 1], [1, 3], [3, 5], [5, 6], [6, 7]]);
});

test('no two places of a tune are said alike', () => {
  const said = [...stretchesOf(view).map(({ from }) => saidAs(view, from)), saidAs(view, view.written.length)];
  assert.deepEqual(said, ['top', 'A', 'A second time', 'bar 4', 'B', 'end']);
});
