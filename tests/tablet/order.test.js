import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isCut, isSilent, laid, pageHolding, positionOf, rebase, shownFrom, stepBehind, stepsOn } from '../../client/tablet/order.js';
import { vectors } from './vectors.js';

const NONE = { again: [], folds: [], tacet: [], pickups: [] };
const view = {
  ...NONE,
  written: [['b1', 1, 1, 'A'], ['b2', 2, 1, ''], ['b1', 1, 2, 'A'], ['b3', 3, 2, ''], ['b4', 4, 1, 'B'], ['b5', 5, 1, '']],
  cut: [[1, 2], [5, 5]],
};
const positions = (one) => laid(one).map(({ position }) => position);

test('what is laid is what is written without what is cut, both ends taken', () => {
  assert.deepEqual(positions(view), [0, 3, 4]);
  assert.deepEqual([0, 1, 2, 3, 4, 5].map((position) => isCut(view, position)), [false, true, true, false, false, true]);
  assert.deepEqual(positions({ ...view, cut: [] }), [0, 1, 2, 3, 4, 5]);
});

for (const { name, written, view: decided, laid: wanted } of vectors('orders').cases) {
  test(`the bars on the page, as the hub lays them: ${name}`, () => {
    const bars = written.split(' ').reduce((count, run) => {
      const [first, last = first] = run.split('-').map(Number);
      return count + last - first + 1;
    }, 0);
    const found = laid({ ...NONE, ...decided, written: Array.from({ length: bars }, (_, n) => [`p${n}`, n, 1, '']) });
    assert.deepEqual(found.map(({ position }) => position), wanted.map(([position]) => position));
    assert.deepEqual(found.map(({ key }) => Math.floor(key)), wanted.map(([, after]) => after));
    const keys = found.map(({ key }) => key);
    assert.deepEqual(keys, [...keys].sort((a, b) => a - b));
    assert.equal(new Set(keys).size, keys.length);
  });
}

test('behind a page comes what follows its last bar, in another revision too', () => {
  const four = { ...view, cut: [], again: [[1, 2, 3, 4, false, 'e']] };
  const keys = laid(four).map(({ key }) => key);
  assert.equal(laid(four)[stepBehind(four, keys, 2)].position, 1, 'the second time round');
  assert.equal(laid(four)[stepBehind(four, keys, keys[4])].position, 1, 'the third');
  assert.equal(stepBehind(view, [0, 3, 4], keys[4]), 1, 'taken back meanwhile: on behind the stretch');
  assert.equal(stepBehind(view, [0, 3, 4], 4), -1);
});

test('a bar that others show between repeat signs is found there', () => {
  const folded = { ...view, cut: [], folds: [[2, 3, 0]] };
  assert.deepEqual(positions(folded), [0, 1, 4, 5]);
  assert.equal(shownFrom(folded, 3), 1);
  assert.equal(stepBehind(folded, [0, 1, 4, 5], 2), 1, 'half of the second time was seen written out');
});

test('who is tacet, and who keeps a pickup, differs from chair to chair', () => {
  const some = { ...view, tacet: [{ chairs: ['a'], ranges: [[3, 3]] }], pickups: [{ chairs: ['b'], ranges: [[2, 2]] }] };
  assert.deepEqual([2, 3, 4].map((position) => isSilent(some, position, 'a')), [true, true, false]);
  assert.deepEqual([2, 3, 4].map((position) => isSilent(some, position, 'b')), [false, false, false]);
});

test('a bar is found in its time through', () => {
  assert.equal(positionOf(view, 'b1', 1), 0);
  assert.equal(positionOf(view, 'b1', 2), 2);
  assert.equal(positionOf(view, 'b1', 3), 2, 'the last one, where repeats were left out since');
  assert.equal(positionOf(view, 'b9', 1), null);
});

const page = (...steps) => ({ lines: [{ bars: steps.map((one) => ({ steps: one })) }] });

test('the page that holds a step; a step that no page shows belongs to the next one', () => {
  const laying = { pages: [page([0, 3], [4, 4]), page([6, 9]), { lines: [] }] };
  assert.deepEqual(stepsOn(laying.pages[0]), [0, 4]);
  assert.equal(stepsOn(laying.pages[2]), null);
  assert.deepEqual([0, 4, 5, 9, 99].map((step) => pageHolding(laying, step)), [0, 0, 1, 1, 2]);
});

test('a stand that shows an order goes on in another that writes its repeats out after the jump, or not', () => {
  const order = (said) => said.split(' ').map((one) => [one.split('/')[0], 0, Number(one.split('/')[1]), '']);
  const once = order('1/1 2/1 1/2 3/1 4/1 1/3 3/2 5/1');
  const again = order('1/1 2/1 1/2 3/1 4/1 1/3 2/2 1/4 3/2 5/1');
  const keys = (to) => to.map(({ key }) => key);
  assert.deepEqual(keys(rebase(once, again)), [0, 1, 2, 3, 4, 5, 8, 9]);
  assert.deepEqual(keys(rebase(again, once)), [0, 1, 2, 3, 4, 5, 5, 5, 6, 7]);
  assert.deepEqual(rebase(again, once).slice(6, 8), [{ position: 1, key: 5 }, { position: 5, key: 5 }]);
  assert.deepEqual(rebase(order('1/1 9/1'), order('1/1')), [{ position: 0, key: 0 }, { position: -1, key: 0 }]);
});
