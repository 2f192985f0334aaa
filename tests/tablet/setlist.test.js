import assert from 'node:assert/strict';
import { test } from 'node:test';
import { after, found, isAgain, isStraight, keySaid, mended, moved, secondsSaid, straight, timeOf, times } from '../../client/tablet/setlist.js';
import { vectors } from './vectors.js';

/** @typedef {import('../../client/tablet/wire.js').SetItem} SetItem */

const { lasts, cases } = vectors('set');

test('a set takes as long as the hub says', () => {
  for (const { items, ...wanted } of cases) assert.deepEqual(times(items, (tune) => lasts[tune] ?? null), wanted);
});

/** @type {SetItem[]} */
const SET = [{ tune: 'bus', then: 'segue' }, { tune: 'ember' }, { tune: 'waltz', instead: true }, { notes: 'Break' }, { tune: 'coda' }];

test('what comes after a tune stands for itself, over a break too', () => {
  const next = (/** @type {string} */ tune) => after(SET, { tune, item: '' })?.tune;
  assert.deepEqual(SET.map(({ tune }) => tune && next(tune)), ['ember', 'coda', 'coda', undefined, undefined]);
  assert.equal(after(SET, { tune: 'polka', item: '' }), null);
});

test('rows of one tune are told apart, wherever they are moved', () => {
  /** @type {SetItem[]} */ const encore = [...SET, { tune: 'bus', id: '2' }];
  assert.deepEqual(after(encore, { tune: 'coda', item: '' }), { tune: 'bus', item: '2' });
  assert.equal(after(encore, { tune: 'bus', item: '2' }), null);
  assert.deepEqual(encore.filter(({ tune }) => tune).map(({ tune, id }) => isAgain(encore, { tune: tune ?? '', item: id ?? '' })), [false, false, false, false, true]);
  const first = moved(encore, 5, 0);
  assert.deepEqual(after(first, { tune: 'bus', item: '2' }), { tune: 'bus', item: '' });
  assert.deepEqual([isAgain(first, { tune: 'bus', item: '2' }), isAgain(first, { tune: 'bus', item: '' }), isAgain(first, { tune: 'polka', item: '' })], [false, true, false]);
});

test('a row moves, and what can stand in for nothing stands for itself', () => {
  const names = (/** @type {SetItem[]} */ items) => items.map((item) => item.tune ?? '-').join(' ');
  assert.equal(names(moved(SET, 0, 2)), 'ember waltz bus - coda');
  assert.equal(names(moved(SET, 4, 0)), 'coda bus ember waltz -');
  assert.equal(moved(SET, 2, 0)[0].instead, false);
  assert.equal(moved(SET, 2, 4)[4].instead, true);
  assert.equal(moved(SET, 2, 3)[3].instead, false, 'a break is nothing to stand in for');
  assert.deepEqual(mended(SET), SET);
});

test('straight through is every tune going on by itself; a segue stays one', () => {
  const through = straight(SET, true);
  assert.deepEqual(through.map((item) => item.then), ['segue', 'on', 'on', undefined, 'on']);
  assert.deepEqual([isStraight(SET), isStraight(through), isStraight([])], [false, true, false]);
  assert.deepEqual(straight(through, false).map((item) => item.then), ['segue', '', '', undefined, '']);
});

test('times are written and read', () => {
  assert.deepEqual([5, 245, 3750].map(timeOf), ['0:05', '4:05', '1:02:30']);
  assert.deepEqual(['4:05', '4.05', '20', '1:02:30', '', 'four', '4:7', '0:00'].map(secondsSaid), [245, 245, 1200, 3750, null, null, null, null]);
  assert.deepEqual(['EB', ' bb ', 'F#', 'DB/GB', 'Eb minor', 'down a tone'].map(keySaid), ['Eb', 'Bb', 'F#', 'Db/GB', 'Eb minor', 'down a tone']);
});

const LIBRARY = ['Half Past the Ferry', 'Ninepenny Waltz', 'The Lamp You Left On', 'Two Left Gloves', 'Späte Fähre', 'Her Pony Flies'].map((title, n) => ({
  tune: `t${n}`,
  title,
  in_set: n < 2,
}));

test('any tune is found in three letters, the likeliest first', () => {
  const first = (/** @type {string} */ typed) => found(LIBRARY, typed).map(({ title }) => title);
  assert.deepEqual(first('nin'), ['Ninepenny Waltz']);
  assert.deepEqual(first('WAL'), ['Ninepenny Waltz']);
  assert.deepEqual(first('hpf'), ['Her Pony Flies'], 'the first letters of its words');
  assert.deepEqual(first('hptf'), ['Half Past the Ferry']);
  assert.deepEqual(first('fer'), ['Half Past the Ferry']);
  assert.deepEqual(first('lef'), ['The Lamp You Left On', 'Two Left Gloves']);
  assert.deepEqual(first('two lef'), ['Two Left Gloves']);
  assert.deepEqual(first('fah'), ['Späte Fähre']);
  assert.deepEqual(first('xyz'), []);
  assert.deepEqual(first(' '), []);
});
