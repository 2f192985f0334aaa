// The page has the shape of the glass: read upright it leaves none of it free.

import assert from 'node:assert/strict';
import { test } from 'node:test';

import { shapeFor } from '../../client/tablet/page-shape.js';

// Sizes of viewports in CSS px, held upright (from memory): tablets of 3:4 and 10:16, telephones of 9:16 and 9:20.
const GLASS = [
  [1024, 1366],
  [800, 1280],
  [375, 667],
  [412, 915],
];

for (const [width, height] of GLASS) {
  test(`a glass of ${width} x ${height} is filled`, () => {
    const shape = shapeFor(width, height, true);
    assert.equal(shape.page[0], 148);
    assert.ok(Math.abs(shape.page[0] * shape.scale - width) < 2 && Math.abs(shape.page[1] * shape.scale - height) < 4);
  });

  test(`turned on its side, ${height} x ${width}, it shows the same page`, () => {
    assert.deepEqual(shapeFor(height, width, true).page, shapeFor(width, height, true).page);
  });
}

test('a wide screen that is not touched shows a page of 3:4, which is larger there', () => {
  assert.deepEqual(shapeFor(1920, 1080, false).page, [148, 197]);
});

test('a window that is a mere strip has a page that is no taller than any glass', () => {
  assert.deepEqual(shapeFor(100, 1000, true).page, [148, 355]);
});
