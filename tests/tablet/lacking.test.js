import assert from 'node:assert/strict';
import { test } from 'node:test';
import { lackOf, lacksCalled, roundsOf } from '../../client/tablet/lacking.js';
import { nextStep, onward, placeIn } from '../../client/tablet/turn.js';

/** Twelve bars; bars 5 to 8 were cut when the copy at hand was laid, on one page. */
const written = Array.from({ length: 12 }, (_, n) => [`b${n + 1}`, n + 1, 1, '']);
const NONE = { title: '', written, cut: [], again: [], folds: [], tacet: [], pickups: [], edits: [], diagnosis: '' };
const CUT = [0, 1, 2, 3, 8, 9, 10, 11];
const WHOLE = written.map((_, n) => n);
const pages = (...steps) => ({ pages: steps.map((one) => ({ lines: [{ bars: [{ steps: one }] }] })) });
const layings = { cut: pages([0, 7]), two: pages([0, 3], [4, 7]), tail: pages([4, 11]), whole: pages([0, 5], [6, 11]) };
const copy = (laying, revision, keys, firstStep = 0, change = {}) => ({
  tune: 'bus', chair: 'alto2', revision, title: '', part: '2nd Alto', laying, pieces: 'p', firstStep, order: keys, keys, again: [], asPrinted: false, told: [], ...change,
});
const old = copy('cut', 1, CUT);
const shelf = (copies, now = {}) => ({
  tune: (tune) => ({ tune, revision: 2, ...NONE, ...now }),
  copies: () => copies,
  laying: (one) => layings[one.laying] ?? null,
  chair: () => 'alto2',
  after: () => null,
});
const at = (one, page = 0, start = null) => ({ tune: 'bus', item: '', chair: 'alto2', copy: one, page, entry: page, prior: null, start });

test('bars put back in the middle of a page are told, and a turn leads to them as soon as they are here', () => {
  const waiting = shelf([old]);
  assert.deepEqual(lackOf(waiting, at(old)), { after: 3, first: 4, bars: [5, 8], turn: false });
  const tail = copy('tail', 2, WHOLE, 4);
  const here = shelf([tail, old]);
  assert.deepEqual(lackOf(here, at(old)), { after: 3, first: 4, bars: [5, 8], turn: true });
  assert.equal(nextStep(here, at(old), CUT), 4, 'read up to bar 4');
  assert.equal(onward(here, at(old)).copy, tail);
  assert.equal(onward(waiting, at(old)), null, 'nothing to turn to yet');
});

test('a page that was called to a bar behind what it lacks lacks nothing', () => {
  assert.equal(lackOf(shelf([old]), at(old, 0, 8)), null);
  assert.equal(lackOf(shelf([old]), at(old, 0, 2)).first, 4);
});

test('bars put back before a page come before it', () => {
  const two = copy('two', 1, CUT);
  assert.equal(lackOf(shelf([two]), at(two)), null, 'behind this page: a turn leads there');
  assert.deepEqual(lackOf(shelf([two]), at(two, 1)), { after: 3, first: 4, bars: [5, 8], turn: false });
  const intro = copy('cut', 1, WHOLE.slice(4));
  assert.deepEqual(lackOf(shelf([intro]), at(intro)), { after: -1, first: 0, bars: [1, 4], turn: false });
  const whole = copy('whole', 2, WHOLE);
  assert.equal(onward(shelf([whole, intro]), at(intro)).copy, whole);
});

test('what is cut, what another chair keeps, what the part does not have, and an order that is the same lack nothing', () => {
  assert.equal(lackOf(shelf([old], { cut: [[4, 7]] }), at(old)), null);
  const kept = { cut: [[4, 7]], pickups: [{ edit: 'e', chairs: ['alto1'], ranges: [[7, 7]] }] };
  assert.equal(lackOf(shelf([old], kept), at(old)), null);
  assert.deepEqual(lackOf(shelf([old], { cut: [[4, 7]], pickups: [{ edit: 'e', chairs: ['alto2'], ranges: [[7, 7]] }] }), at(old)).bars, [8, 8]);
  assert.equal(lackOf(shelf([old]), at(copy('cut', 1, WHOLE))), null);
  assert.equal(lackOf(shelf([old]), at(copy('cut', 2, CUT))), null);
  assert.equal(lackOf(shelf([old]), at(copy('cut', 1, CUT, 0, { asPrinted: true }))), null);
});

test('a stretch that is to be played again is lacking behind its end', () => {
  const plain = copy('cut', 1, WHOLE);
  const again = shelf([{ ...plain, laying: 'whole' }], { again: [[0, 3, 1, 2, false, 'e']] });
  assert.deepEqual(lackOf(again, at({ ...plain, laying: 'whole' })).bars, [1, 4]);
});

test('whether the called bar is here', () => {
  const now = shelf([old]);
  assert.equal(lacksCalled(now, placeIn(now, { tune: 'bus', item: '' }, 5), 5), true);
  assert.equal(lacksCalled(now, at(old), 8), false);
  assert.equal(lacksCalled(now, at(old), null), false);
  const intro = copy('cut', 1, WHOLE.slice(4));
  assert.equal(lacksCalled(shelf([intro]), at(intro), null), true);
  assert.equal(lacksCalled(shelf([intro], { cut: [[0, 3]] }), at(intro), null), false);
  assert.equal(lacksCalled(now, at(null), 5), false, 'a card is no page');
});

test('a stretch that stands once is told at its end when it is played another number of times than on the page', () => {
  const boxes = written.map(([bar], position) => ({ bar, position, step: position }));
  const page = { ...copy('cut', 1, WHOLE), laying: 'whole' };
  const rounds = (one, now, on = boxes) => roundsOf(shelf([one], now), at(one), on).map(({ behind, ...rest }) => ({ ...rest, at: behind.position }));
  const often = { again: [[0, 3, 3, 4, true, 'e']] };
  assert.deepEqual(rounds(page, often), [{ at: 3, bars: [1, 4], times: 4 }]);
  assert.deepEqual(rounds({ ...page, again: often.again }, often), [], 'the page has it');
  assert.deepEqual(rounds({ ...page, again: often.again }, { again: [] }), [{ at: 3, bars: [1, 4], times: null }], 'taken back');
  assert.deepEqual(rounds({ ...page, again: often.again }, { again: [[0, 3, 0, 0, true, 'f']] }), [{ at: 3, bars: [1, 4], times: 0 }]);
  assert.deepEqual(rounds(page, often, boxes.slice(4)), [], 'another page has its end');
  assert.deepEqual(rounds(page, { again: [[0, 3, 1, 2, false, 'e']] }), [], 'written out: bars that come back are flagged');
  assert.deepEqual(rounds({ ...page, revision: 2 }, often), [], 'a page laid since');
  assert.deepEqual(rounds({ ...page, asPrinted: true }, often), []);
});

test('a repeat that is shown by its first round has its flag there', () => {
  const bars = ['b1', 'b2', 'b1', 'b2', 'b3'].map((bar, n) => [bar, Number(bar[1]), n === 2 || n === 3 ? 2 : 1, '']);
  const now = { written: bars, folds: [[2, 3, 0]], again: [[2, 3, 2, 4, true, 'e']] };
  const page = { ...copy('cut', 1, [0, 1, 4]), laying: 'whole' };
  const boxes = [0, 1, 4].map((position, step) => ({ bar: bars[position][0], position, step }));
  assert.deepEqual(roundsOf(shelf([page], now), at(page), boxes), [{ behind: boxes[1], bars: [1, 2], times: 4 }]);
});
