import assert from 'node:assert/strict';
import { test } from 'node:test';
import { NONE, fold, lacking, withMade, without } from '../../client/tablet/markings.js';
import { vectors } from './vectors.js';

const ids = (folded) => [...folded.made.keys()].sort();

for (const { name, views, stands } of vectors('markings').cases) {
  test(name, () => {
    assert.deepEqual(ids(views.reduce((before, view) => fold(before, view), NONE)), [...stands].sort());
    // Each view twice, as after a connection that broke before it was noted.
    assert.deepEqual(ids(views.flatMap((view) => [view, view]).reduce((before, view) => fold(before, view), NONE)), [...stands].sort());
  });
}

const marking = (id) => ({ id, tune: 'bus', chair: 'alto2', layer: 'mine', what: { type: 'note', at: ['b1', 0, 0, 0, 1], text: 'x' }, section: '', pass_: null });
const view = (change) => ({ type: 'markings', seq: 1, made: [], erased: [], whole: false, ...change });

test('what is erased never stands again, whichever came first', () => {
  const made = view({ made: [marking('m')] });
  const erased = view({ erased: ['m'] });
  assert.deepEqual(ids([made, erased].reduce((a, b) => fold(a, b), NONE)), []);
  assert.deepEqual(ids([erased, made].reduce((a, b) => fold(a, b), NONE)), []);
});

test('a whole view forgets what it does not name, but not what still waits to be sent', () => {
  const before = withMade(withMade(NONE, marking('old')), marking('waiting'));
  assert.deepEqual(ids(fold(before, view({ whole: true, made: [marking('new')] }), new Set(['waiting']))), ['new', 'waiting']);
});

test('taken away here only, it may come back: the hub has the last word', () => {
  const gone = without(withMade(NONE, marking('m')), 'm');
  assert.deepEqual(ids(gone), []);
  assert.deepEqual(ids(fold(gone, view({ made: [marking('m')] }))), ['m']);
});

test('a replaced hub is offered what it lacks and not what it erased', () => {
  const now = fold(NONE, view({ whole: true, made: [marking('has')], erased: ['erased'] }));
  assert.deepEqual(lacking(['has', 'erased', 'lacks'].map(marking), now).map(({ id }) => id), ['lacks']);
});
