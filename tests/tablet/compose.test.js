import assert from 'node:assert/strict';
import { test } from 'node:test';
import { plan, rungFor, rungOf, sheetsOf, snapped } from '../../client/tablet/compose.js';

const ladder = [6, 8, 11, 15, 20];

test('the smallest rung that is hardly enlarged, else the largest', () => {
  assert.deepEqual([1, 6, 6.6, 6.7, 8.8, 15, 22, 99].map((wanted) => ladder[rungFor(ladder, wanted)]), [6, 6, 6, 8, 8, 15, 20, 20]);
});

const pieces = { ladder, sheets: [], pieces: [{ id: 7, sheet: 2, x: 10, y: 20, left: -1, right: 99, top: -3, bottom: 5 }] };
/** A system cut into slices of uneven widths, each beginning where the one before ends. */
const edges = [10, 17.31, 22.22, 40.005, 41.1, 77.777, 138];
const slices = edges.slice(1).map((x1, n) => [n * 10, n * 10 + 10, edges[n], x1]);
const page = { placed: [{ piece: 7, y: 30, space: 1.75, slices }], rules: [], dots: [], words: [], lines: [] };

test('one rung for all pages: that of the largest music', () => {
  const laying = { pages: [page, { ...page, placed: [{ ...page.placed[0], space: 2.5 }] }, { ...page, placed: [] }] };
  assert.equal(ladder[rungOf(laying, pieces, 6)], 15);
});

for (const scale of [3.1, 5.189, 5.1892, 7, 11.07, 13.333]) {
  test(`slices meet on whole pixels at ${scale} px a mm`, () => {
    const strokes = plan(page, pieces, 1, scale);
    assert.equal(strokes.length, slices.length);
    for (const { x, y, w, h } of strokes) for (const edge of [x, y, w, h]) assert.ok(Number.isInteger(edge), String(edge));
    strokes.slice(1).forEach((stroke, n) => assert.equal(stroke.x, strokes[n].x + strokes[n].w));
    for (const stroke of strokes) assert.deepEqual([stroke.y, stroke.h], [strokes[0].y, strokes[0].h]);
  });
}

test('a slice is taken from its piece where it lies on the sheet', () => {
  const [first] = plan(page, pieces, 1, 5);
  assert.deepEqual([first.sheet, first.sx, first.sy, first.sw, first.sh], [2, (10 + 0 + 1) * 8, 20 * 8, 80, 64]);
});

test('slices too thin for a pixel, and pieces that are not here, are left out', () => {
  const thin = { ...page, placed: [{ ...page.placed[0], slices: [[0, 1, 10, 10.01]] }, { ...page.placed[0], piece: 8 }] };
  assert.deepEqual(plan(thin, pieces, 0, 5), []);
  assert.deepEqual([...sheetsOf(thin, pieces)], [2]);
});

test('thin rules have one thickness wherever they lie', () => {
  const widths = new Set(Array.from({ length: 50 }, (_, n) => snapped(n * 0.731, n * 0.731 + 0.2, 7)[1]));
  assert.deepEqual([...widths], [1]);
});
