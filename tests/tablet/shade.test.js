import assert from 'node:assert/strict';
import { test } from 'node:test';
import { reachesOf } from '../../client/tablet/shade.js';

/** Two lines of two bars; staves 7 mm, so a space is 1.75 mm. */
const box = (line, x0) => ({ x0, x1: x0 + 50, y0: [30, 70][line], y1: [37, 77][line], staves: [[33.5], [73.5]][line] });
const lines = [0, 1].map((line) => [box(line, 10), box(line, 60)]);
const piece = (id, top, bottom) => ({ id, sheet: 0, x: 0, y: 0, left: 0, right: 10, top, bottom });
const placed = (id, y, x0, x1) => ({ piece: id, y, space: 2, slices: [[0, 10, x0, x1]] });
const reaches = (page, boxes, pieces = []) => reachesOf({ placed: [], words: [], ...page }, { pieces }, lines, boxes, 1.75);

test('a bar without ink is shaded a space beyond its staves', () => {
  assert.deepEqual(reaches({}, [lines[0][0]]), [[28.25, 38.75]]);
});

test('a dynamic far below and a mark far above are shaded with their bar, and with no other', () => {
  const pieces = [piece(1, -9, 8), piece(2, -2, 2)];
  const page = { placed: [placed(1, 33.5, 11, 40), placed(2, 73.5, 61, 90)] };
  const wide = [28.25, 38.75];
  assert.deepEqual(reaches(page, lines.flat(), pieces), [[13.75, 51.25], wide, [68.25, 78.75], [67.75, 79.25]]);
});

test('chord names that were raised are of the line that they are nearest to', () => {
  const page = { placed: [placed(1, 60, 20, 30)] };
  assert.deepEqual(reaches(page, [lines[0][0], lines[1][0]], [piece(1, -2, 0)]), [[28.25, 38.75], [54.25, 78.75]]);
});

test('words that are set anew are ink too', () => {
  const page = { words: [{ text: '2nd time', x: 62, y: 27, size: 4, style: 'pass', anchor: 'start' }] };
  assert.deepEqual(reaches(page, lines[0]), [[28.25, 38.75], [21.25, 38.75]]);
});

test('ink that only touches a bar\'s edge is not its own', () => {
  const page = { placed: [placed(1, 33.5, 60, 70)] };
  assert.deepEqual(reaches(page, lines[0], [piece(1, -9, 9)]), [[28.25, 38.75], [13.75, 53.25]]);
});
