import assert from 'node:assert/strict';
import { test } from 'node:test';
import { anchorAt, boxesOf, nearestLine, runsOn } from '../../client/tablet/anchor.js';
import { vectors } from './vectors.js';

const near = (got, wanted, words) => assert.ok(Math.abs(got - wanted) < 1e-3, `${words}: ${got}, not ${wanted}`);

for (const { name, page, order, written, space, points, strokes } of vectors('anchors').cases) {
  const lines = boxesOf(page, order, written);
  test(`${name}: from the page to the music and back`, () => {
    for (const { x, y, anchor } of points) {
      const line = nearestLine(lines, y);
      const found = anchorAt(line, x, y, space);
      assert.equal(found[0], anchor[0]);
      near(found[1], anchor[1], 'fraction');
      assert.equal(found[2], anchor[2]);
      near(found[3], anchor[3], 'spaces');
      const [[back]] = runsOn([found], line, space);
      near(back.x, x, 'x');
      near(back.y, y, 'y');
    }
  });
  test(`${name}: strokes`, () => {
    for (const { points: stroke, pass, runs } of strokes) {
      const found = lines.flatMap((line) => runsOn(stroke, line, space, pass));
      assert.deepEqual(found.map((run) => run.map(({ x, y }) => [x, y])), runs);
    }
  });
}

test('a stroke that begins at one stave stays on it', () => {
  const { page, order, written, space } = vectors('anchors').cases[2];
  const [line] = boxesOf(page, order, written);
  assert.deepEqual(anchorAt(line, 30, 44, space, 0), ['b1', 0.5, 0, -10, 0.5]);
});
