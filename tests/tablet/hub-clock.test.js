import assert from 'node:assert/strict';
import { test } from 'node:test';
import { HubClock } from '../../client/tablet/hub-clock.js';

test('words for this moment are not shown when they come more than two seconds late', () => {
  let now = 100_000;
  const clock = new HubClock(() => now);
  clock.hear(5); // the clocks are 95 s apart, or the message was slow
  now = 102_040;
  clock.hear(7.02);
  now = 110_000;
  assert.equal(clock.tooLate(14.5), false, 'half a second on the way');
  assert.equal(clock.tooLate(12.9), true, 'slept for two seconds and more');
  assert.equal(clock.tooLate(0), false, 'these may come at any time');
});

test('another hub has another clock', () => {
  let now = 100_000;
  const clock = new HubClock(() => now);
  clock.hear(5);
  clock.forget();
  now = 101_000;
  assert.equal(clock.tooLate(1), false);
});
