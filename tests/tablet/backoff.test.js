import assert from 'node:assert/strict';
import { test } from 'node:test';
import { FIRST_WAIT, LONGEST_WAIT, waitBefore } from '../../client/tablet/backoff.js';

test('waits grow to a cap and never beyond it', () => {
  for (const lot of [0, 0.5, 0.999]) {
    const waits = Array.from({ length: 40 }, (_, attempt) => waitBefore(attempt, lot));
    waits.slice(1).forEach((wait, n) => assert.ok(wait >= waits[n]));
    assert.ok(waits[0] <= FIRST_WAIT && waits[0] >= FIRST_WAIT / 2);
    assert.ok(waits.at(-1) <= LONGEST_WAIT && waits.at(-1) >= LONGEST_WAIT / 2);
  }
});

test('stands that lost the hub together come back apart', () => {
  assert.equal(waitBefore(9, 0.999) - waitBefore(9, 0) > LONGEST_WAIT * 0.49, true);
});
