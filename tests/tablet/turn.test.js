import assert from 'node:assert/strict';
import { test } from 'node:test';
import { after } from '../../client/tablet/setlist.js';
import { backward, follow, nextStep, onward, placeIn, placeOfCall } from '../../client/tablet/turn.js';

/** A tune of twelve bars, four to the page; C is bar 9. */
const written = Array.from({ length: 12 }, (_, n) => [`b${n + 1}`, n + 1, 1, n === 8 ? 'C' : '']);
const laid = (from, to) => ({ lines: [{ bars: [{ steps: [from, to] }] }] });
const layings = {
  whole: { pages: [laid(0, 3), laid(4, 7), laid(8, 11)] },
  tail: { pages: [laid(4, 5)] },
  other: { pages: [laid(0, 11)] },
};
const copy = (laying, change = {}) => {
  const order = change.order ?? written.map((_, n) => n);
  return {
    tune: 'bus', chair: 'alto2', revision: 1, title: '', part: '2nd Alto', laying, pieces: 'p', firstStep: 0,
    order, keys: order, asPrinted: false, told: [], ...change,
  };
};
const shelf = (copies, tunes = [{ tune: 'bus' }, { tune: 'ember' }]) => ({
  tune: (tune) => ({ tune, title: '', revision: 1, written, cut: [], again: [], folds: [], edits: [], diagnosis: '' }),
  copies: (tune) => copies.filter((one) => one.tune === tune),
  laying: (one) => layings[one.laying] ?? null,
  chair: () => 'alto2',
  after: (row) => after(tunes, row),
});
const both = shelf([copy('whole'), copy('other', { tune: 'ember' })]);
const position = (change) => ({
  type: 'position', call: 2, tune: 'bus', start: null, start_pass: 1, by: '', words: '', next: null, returns_to: null, previous: null, ...change,
});

test('on through the pages into the next tune, and back the way it came', () => {
  const seen = [];
  for (let place = placeIn(both, { tune: 'bus', item: '' }); place; place = onward(both, place)) seen.push(place);
  assert.deepEqual(seen.map(({ tune, page }) => [tune, page]), [['bus', 0], ['bus', 1], ['bus', 2], ['ember', 0]]);
  const back = [];
  for (let place = seen.at(-1); place; place = backward(place)) back.push([place.tune, place.page]);
  assert.deepEqual(back, [['ember', 0], ['bus', 2], ['bus', 1], ['bus', 0]]);
});

test('a turn takes the newest tail that begins at the next bar or before it', () => {
  // Bars 5 to 10 were cut while page 1 was on: the tail of revision 2 has bars 11 and 12.
  const order = [0, 1, 2, 3, 10, 11];
  const cut = shelf([copy('tail', { revision: 2, firstStep: 4, order }), copy('whole')]);
  const place = placeIn(cut, { tune: 'bus', item: '' });
  assert.equal(place.copy.revision, 1, 'a tail alone does not open a tune');
  assert.equal(nextStep(cut, place, order), 4);
  const turned = onward(cut, place);
  assert.deepEqual([turned.copy.revision, turned.page], [2, 0]);
  assert.deepEqual([backward(turned).copy.revision, backward(turned).page], [1, 0]);
});

test('a tail that begins later than the next bar is not turned into', () => {
  const late = shelf([copy('tail', { revision: 2, firstStep: 5, order: [0, 1, 2, 3, 10, 11] }), copy('whole')]);
  assert.deepEqual([onward(late, placeIn(late, { tune: 'bus', item: '' })).copy.revision, onward(late, placeIn(late, { tune: 'bus', item: '' })).page], [1, 1]);
});

test('a call opens the page that holds its bar', () => {
  assert.equal(placeOfCall(both, position({ start: 'b9' })).page, 2);
  assert.equal(placeOfCall(both, position({ start: null })).page, 0);
  assert.equal(placeOfCall(both, position({ tune: null })), null);
});

test('the same call heard again moves nothing', () => {
  assert.equal(follow(both, position({ call: 2 }), 2, () => undefined), null);
});

test('a call taken back returns to the page that was on under it', () => {
  const was = { ...placeIn(both, { tune: 'bus', item: '' }), page: 1 };
  const back = follow(both, position({ call: 4, returns_to: 2, start: 'b9' }), 3, (call) => (call === 2 ? was : undefined));
  assert.equal(back, was);
  assert.equal(follow(both, position({ call: 4, returns_to: 2, start: 'b9' }), 3, () => undefined).page, 2);
});

test('a tune that is not here is a card, and turning on from it leads to the next tune', () => {
  const none = shelf([copy('other', { tune: 'ember' })]);
  const place = placeIn(none, { tune: 'bus', item: '' });
  assert.equal(place.copy, null);
  assert.equal(onward(none, place).tune, 'ember');
});

test('a tune that stands again in the set goes on from where it stands, and back the way it came', () => {
  const set = shelf([copy('other'), copy('other', { tune: 'ember' })], [{ tune: 'bus' }, { tune: 'ember' }, { tune: 'bus', id: '2' }]);
  const seen = [];
  for (let place = placeIn(set, { tune: 'bus', item: '' }); place; place = onward(set, place)) seen.push(place);
  assert.deepEqual(seen.map(({ tune, item }) => [tune, item]), [['bus', ''], ['ember', ''], ['bus', '2']]);
  assert.deepEqual([backward(seen[2]).tune, backward(seen[1]).item], ['ember', '']);
  assert.equal(placeOfCall(set, position({ item: '2' })).item, '2');
});
