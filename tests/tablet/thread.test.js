import assert from 'node:assert/strict';
import { test } from 'node:test';
import { lineOf, loopSays } from '../../client/tablet/thread-line.js';

const view = (bars, cut, marks = {}) => ({
  written: Array.from({ length: bars }, (_, n) => [`b${n + 1}`, n + 1, 1, marks[n] ?? '']),
  cut,
  again: [],
  tacet: [],
});
const close = (a, b) => assert.ok(Math.abs(a - b) < 1e-9, `${a}, not ${b}`);

test('without cuts every bar takes the same room, from end to end', () => {
  const line = lineOf(view(8, []));
  for (let n = 0; n <= 8; n++) close(line.at(n), n / 8);
  assert.deepEqual(line.gaps, []);
  assert.equal(line.played.length, 1);
});

for (const cut of [[[2, 3]], [[0, 0], [4, 6]], [[7, 7]], [[0, 7]], [[0, 1], [3, 3], [5, 7]]]) {
  test(`played stretches and gaps make up the whole thread: cut ${JSON.stringify(cut)}`, () => {
    const line = lineOf(view(8, cut));
    const spans = [...line.played, ...line.gaps].sort((a, b) => a.from - b.from);
    close(spans[0].from, 0);
    spans.slice(1).forEach((span, n) => close(span.from, spans[n].to));
    if (line.played.length) close(spans.at(-1).to, 1);
    for (const span of spans) assert.ok(span.to > span.from);
    assert.equal(line.gaps.length, cut.length);
  });
}

test('a gap is as wide for one bar as for many', () => {
  const { gaps } = lineOf(view(40, [[2, 2], [10, 30]]));
  close(gaps[0].to - gaps[0].from, gaps[1].to - gaps[1].from);
});

test('marks stand where their bars begin; those that are cut are not written', () => {
  const line = lineOf(view(8, [[4, 5]], { 0: 'A', 4: 'B', 6: 'C' }));
  assert.deepEqual(line.marks.map(({ text, position }) => [text, position]), [['A', 0], ['C', 6]]);
  close(line.marks[1].at, line.at(6));
});

test('a tune without bars is a thread without anything', () => {
  const line = lineOf(view(0, []));
  assert.deepEqual([line.played, line.gaps, line.marks], [[], [], []]);
});

test('what is played again is a loop, and tacet is told to its chairs only', () => {
  const some = { ...view(8, [[3, 4]]), again: [[1, 4, 0, 0, true, 'e'], [6, 7, 2, 3, true, 'f']], tacet: [{ edit: 'g', chairs: ['alto'], ranges: [[3, 4], [5, 5]] }] };
  const line = lineOf(some, 'alto');
  assert.deepEqual(line.loops.map(({ times, edit }) => [times, edit]), [[0, 'e'], [3, 'f']]);
  close(line.loops[0].from, line.at(1));
  close(line.loops[0].to, line.at(5));
  close(line.tacet.at(-1).from, line.at(5));
  assert.deepEqual(lineOf(some, 'tenor').tacet, []);
});

test('a loop says how often, or that it is open, cued, and whose turn it is', () => {
  assert.deepEqual(
    [loopSays(4, false, ''), loopSays(0, false, ''), loopSays(0, false, 'Alto 2'), loopSays(0, true, 'Alto 2')],
    ['4×', 'open', 'open, Alto 2', 'last time'],
  );
});
