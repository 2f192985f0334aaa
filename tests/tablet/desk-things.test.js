import assert from 'node:assert/strict';
import { test } from 'node:test';

import { again, called, countOf, endingFrom, gone, halves, moved, passesFrom, pick, thingsOn } from '../../client/tablet/desk-things.js';

/** Two lines of four bars of 100 points, staves 20 points high; a mark over bar 5, an ending over bars 7 and 8. */
function reading() {
  const line = (/** @type {number} */ n) => ({
    bbox: [40, 100 + 100 * n, 500, 120 + 100 * n],
    space: 5,
    staves: [{ top: 100 + 100 * n, bottom: 120 + 100 * n, x0: 40, x1: 500 }],
    barlines: [1, 2, 3, 4].map((k) => ({ x: 100 + 100 * k, x0: 99 + 100 * k, x1: 101 + 100 * k, kind: 'single', line_start: false, confidence: 1 })),
    bars: [0, 1, 2, 3].map((k) => ({ index: 4 * n + k + 1, number: 4 * n + k + 1, count: 1, x0: 101 + 100 * k, x1: 199 + 100 * k, confidence: 1, continued: false })),
    head_x1: 95,
    printed_number: null,
    confidence: n ? 0.5 : 1,
    doubt: n ? 'A bar may be missing.' : '',
  });
  return /** @type {import('../../client/tablet/desk-things.js').Reading} */ ({
    bars: 8,
    pickup: false,
    marks: [{ text: 'B', bar: 5, page: 0, box: [92, 180, 104, 192], confidence: 1 }],
    signs: [],
    endings: [{ passes: [1], bar: 7, last_bar: 8, page: 0, box: [301, 184, 499, 194], confidence: 1 }],
    pages: [{ width: 595, height: 842, as_printed: '', systems: [line(0), line(1)] }],
    confidence: 0.5,
    doubts: [],
  });
}

test('everything that was read can be picked, line by line', () => {
  const things = thingsOn(reading(), 0);
  assert.equal(things.filter((one) => one.kind === 'bar').length, 8);
  assert.equal(things[0].kind, 'system');
  assert.deepEqual(things.filter((one) => one.kind === 'mark' || one.kind === 'ending').map((one) => one.says), ['Mark B at bar 5', 'Ending 1. bars 7 to 8']);
  assert.ok(things.filter((one) => one.kind === 'bar').slice(4).every((one) => !one.sure));
});

test('a touch picks what it is meant for', () => {
  const things = thingsOn(reading(), 0);
  const at = (/** @type {number} */ x, /** @type {number} */ y) => pick(things, x, y, 16)?.says;
  assert.equal(at(150, 110), 'Bar 1');
  assert.equal(at(204, 110), 'Single barline');
  assert.equal(at(200, 92), 'Single barline');
  assert.equal(at(98, 186), 'Mark B at bar 5');
  assert.match(at(60, 210) ?? '', /^Line 2, one stave, in doubt/);
  assert.equal(at(300, 700), undefined);
});

test('a thing is found again in another reading of its page', () => {
  const was = thingsOn(reading(), 0).find((one) => one.kind === 'barline' && one.at[1] === 300) ?? null;
  const other = reading();
  for (const line of other.pages[0].systems) for (const barline of line.barlines) barline.x += 2;
  assert.equal(again(thingsOn(other, 0), was)?.at[1], 302);
  other.pages[0].systems.shift();
  assert.equal(again(thingsOn(other, 0), was), null);
});

test('moving and taking away say so in points of the page', () => {
  const read = reading();
  const things = thingsOn(read, 0);
  const of = (/** @type {string} */ kind) => /** @type {import('../../client/tablet/desk-things.js').Thing} */ (things.find((one) => one.kind === kind));
  assert.deepEqual(moved(read, of('barline'), [0, 230, 300]), { type: 'barline', at: [0, 200, 110], kind: '', to: 230 });
  assert.deepEqual(moved(read, of('mark'), [0, 230, 210]), { type: 'mark', at: [0, 98, 186], text: 'B', to: [0, 230, 210] });
  assert.equal(moved(read, of('bar'), [0, 1, 1]), null);
  assert.deepEqual(gone(of('mark')), { type: 'no-mark', at: [0, 98, 186] });
  assert.equal(gone(of('bar')), null);
  const bar = things.filter((one) => one.kind === 'bar')[4];
  assert.deepEqual(endingFrom(read, bar, 3, [1, 2]), { type: 'ending', at: [0, 150, 210], until: [0, 350, 210], passes: [1, 2] });
  assert.equal(endingFrom(read, bar, 9, [1]), null);
});

test('the times of an ending as people write them', () => {
  assert.deepEqual(passesFrom('1.'), [1]);
  assert.deepEqual(passesFrom('1, 2'), [1, 2]);
  assert.deepEqual(passesFrom('1.-3.'), [1, 2, 3]);
  assert.deepEqual(passesFrom('twice'), []);
});

test('bars that go by earlier numbers are called as they are printed, and found by that', () => {
  const read = reading();
  read.uncounted = [{ bar: 5, fewer: 2 }];
  assert.deepEqual([4, 5, 8].map((bar) => called(read, bar)), [4, 3, 6]);
  assert.deepEqual([countOf(read, 3, 1), countOf(read, 3, 8), countOf(read, 6, 1), countOf(read, 2, 8)], [3, 5, 8, 2]);
  assert.deepEqual(thingsOn(read, 0).filter((one) => one.kind === 'mark' || one.kind === 'ending').map((one) => one.says), ['Mark B at bar 3', 'Ending 1. bars 5 to 6']);
});

test('parts that share a page are taken by where they stand', () => {
  const share = (/** @type {[number, number, number, number]} */ box, /** @type {string} */ text) => ({ ...reading(), head: [{ text }], pages: [reading().pages[0], { ...reading().pages[0], area: box }] });
  const words = (/** @type {ReturnType<typeof share>[]} */ shares) => halves({ ...reading(), shares }).map((one) => one.words);
  assert.deepEqual(halves(reading()), []);
  const beside = [share([0, 0, 300, 842], 'Paper Lanterns'), share([300, 0, 595, 842], 'Slow Ferry')];
  assert.deepEqual(words(beside), ['Take the left half: Paper Lanterns', 'Take the right half: Slow Ferry']);
  assert.deepEqual(halves({ ...reading(), shares: beside })[1].said, { type: 'half', at: [1, 447.5, 421] });
  const over = [share([0, 0, 595, 400], 'Alto 1'), share([0, 400, 595, 842], 'Alto 1')];
  assert.deepEqual(words(over), ['Take the upper half', 'Take the lower half']);
  assert.deepEqual(words([...over, share([0, 700, 595, 842], 'Alto 1')])[2], 'Take part 3 of 3');
});
