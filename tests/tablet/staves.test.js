import assert from 'node:assert/strict';
import { test } from 'node:test';
import { askedFor, atHeight, isHeight, keptFor } from '../../client/tablet/staves.js';
import { backward, laidAnew, onward, placeIn } from '../../client/tablet/turn.js';

const copy = (stave, change = {}) => ({
  tune: 'bus', chair: 'alto2', revision: 1, title: '', part: '2nd Alto', laying: `at${stave}`, pieces: 'p', firstStep: 0,
  order: written.map((_, n) => n), keys: written.map((_, n) => n), asPrinted: false, told: [], version: 'v', stave, ...change,
});
/** Twelve bars: four to the page at 7 mm, three at 8, all on one at 6. */
const written = Array.from({ length: 12 }, (_, n) => [`b${n + 1}`, n + 1, 1, '']);
const pagesOf = (many) =>
  Array.from({ length: Math.ceil(12 / many) }, (_, n) => ({ lines: [{ bars: [{ steps: [n * many, Math.min(11, (n + 1) * many - 1)] }] }] }));
const layings = { at6: { pages: pagesOf(12) }, at7: { pages: pagesOf(4) }, at8: { pages: pagesOf(3) } };
const shelfAt = (stave, copies = [copy(6), copy(7), copy(8)]) => ({
  tune: (tune) => ({ tune, title: '', revision: 1, written, cut: [], again: [], folds: [], tacet: [], pickups: [], edits: [] }),
  copies: (tune) => atHeight(copies.filter((one) => one.tune === tune), stave),
  laying: (one) => layings[one.laying] ?? null,
  chair: () => 'alto2',
  after: ({ tune }) => (tune === 'first' ? { tune: 'bus', item: '' } : null),
});
const barsOn = (place) => layings[place.copy.laying].pages[place.page].lines[0].bars[0].steps;

test('6 to 10 mm in steps of 1; the steps next to the chosen one are kept', () => {
  assert.deepEqual([5, 6, 7, 10, 11].map(isHeight), [false, true, true, true, false]);
  assert.deepEqual([6, 7, 10].map(keptFor), [[6, 7], [7, 6, 8], [10, 9]]);
  assert.deepEqual(askedFor([]), { stave: 7, ahead: [6, 8] });
  assert.deepEqual(askedFor([8, 6]), { stave: 8, ahead: [6, 7, 9] });
});

test('the copies at the chosen height; while it is not here, those next to it; what is as printed has none', () => {
  const heights = (stave, copies) => atHeight(copies, stave).map((one) => one.stave);
  assert.deepEqual(heights(8, [copy(6), copy(7), copy(8), copy(8, { firstStep: 3 })]), [8, 8]);
  assert.deepEqual(heights(10, [copy(6), copy(8), copy(10, { firstStep: 3 })]), [8], 'a tail alone opens no tune');
  assert.deepEqual(heights(9, [copy(7, { asPrinted: true })]), [7]);
  assert.deepEqual(heights(9, [copy(7, { laying: '', part: '' })]), [7], 'tacet');
});

test('at another height the same bar is on the page, and back leads where it led', () => {
  const before = onward(shelfAt(7), placeIn(shelfAt(7), { tune: 'bus', item: '' }));
  assert.deepEqual(barsOn(before), [4, 7]);
  const higher = laidAnew(shelfAt(8), before, 4);
  assert.deepEqual([higher.copy.stave, barsOn(higher)], [8, [3, 5]]);
  assert.deepEqual(barsOn(laidAnew(shelfAt(6), higher, 4)), [0, 11]);
  assert.deepEqual(barsOn(laidAnew(shelfAt(7), higher, 4)), [4, 7], 'back at 7 mm it is the page that it was');
  assert.deepEqual(barsOn(backward(higher)), [0, 2]);
});

test('a tune that was turned into leads back to the one before it, at any height', () => {
  const shelf = (stave) => shelfAt(stave, [6, 7, 8].flatMap((one) => [copy(one), copy(one, { tune: 'first' })]));
  const last = { ...placeIn(shelf(7), { tune: 'first', item: '' }), page: 2 };
  const first = onward(shelf(7), last);
  assert.deepEqual([first.tune, first.page], ['bus', 0]);
  const second = laidAnew(shelf(8), onward(shelf(7), first), 4);
  assert.deepEqual([second.page, backward(second).page, backward(backward(second)).tune], [1, 0, 'first']);
});

test('from a tail to the whole: its pages before it are behind it again', () => {
  const keys = [0, 1, 2, 3, 8, 9, 10, 11];
  layings.tail = { pages: [{ lines: [{ bars: [{ steps: [4, 7] }] }] }] };
  layings.cut8 = { pages: [{ lines: [{ bars: [{ steps: [0, 2] }] }] }, { lines: [{ bars: [{ steps: [3, 5] }] }] }, { lines: [{ bars: [{ steps: [6, 7] }] }] }] };
  const cut = { revision: 2, order: keys, keys };
  const at7 = [copy(7, { ...cut, laying: 'tail', firstStep: 4 }), copy(7)];
  const tail = onward(shelfAt(7, at7), placeIn(shelfAt(7, at7), { tune: 'bus', item: '' }));
  assert.deepEqual([tail.copy.laying, tail.prior.page], ['tail', 0]);
  const whole = laidAnew(shelfAt(8, [...at7, copy(8, { ...cut, laying: 'cut8' })]), tail, 8);
  assert.deepEqual([whole.copy.laying, whole.page, whole.prior, backward(whole).page], ['cut8', 1, null, 0]);
});
