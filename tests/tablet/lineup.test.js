import assert from 'node:assert/strict';
import { test } from 'node:test';
import { agoSaid, lineup, lineupSaid } from '../../client/tablet/lineup.js';

const BAND = { type: 'band', name: '', sections: [{ name: 'Saxes', chairs: [{ id: 'a1', name: 'Alto 1', stands: 1 }, { id: 'a2', name: 'Alto 2', stands: 0 }] }] };
const stand = (chairs, more = {}) => ({
  client: chairs.join(), chairs, here: true, call: 0, revision: 0, roles: [], received: 0, glass: 0,
  missing: 0, tunes: 4, battery: 80, charging: false, awake: true, upright: true, round_trip: 12, away: 0, ...more,
});

test('ready is when every chair sits and nothing is wanting', () => {
  assert.equal(lineupSaid(lineup(BAND, [stand(['a1']), stand(['a2'])])), 'Ready.');
  assert.equal(lineupSaid(lineup(BAND, [stand(['a1', 'a2'])])), 'Ready.', 'one stand may hold both');
  assert.equal(lineupSaid([]), 'There are no chairs yet.');
});

test('what is not ready is said, the chair first', () => {
  const rows = lineup(BAND, [stand(['a1'], { missing: 2, battery: 12, round_trip: 900 }), stand(['a2'], { here: false, away: 130 })]);
  assert.equal(lineupSaid(rows), 'Empty: Alto 2; Alto 1: 2 of 4 tunes to come, battery 12 %, slow to reach (900 ms).');
  assert.deepEqual(rows[1].says, ['last seen 2 min ago']);
  assert.deepEqual(lineup(BAND, []).map((row) => row.says), [[], []]);
});

test('what a browser does not tell is not guessed', () => {
  const [row] = lineup(BAND, [stand(['a1'], { missing: null, battery: null, charging: null, awake: null, upright: null, round_trip: null })]);
  assert.deepEqual(row, { chair: 'a1', name: 'Alto 1', here: true, says: ['its store is not told'], wants: [] });
  const [charging] = lineup(BAND, [stand(['a1'], { battery: 5, charging: true, awake: false, upright: false })]);
  assert.deepEqual(charging.says, ['all stored · battery 5 %, charging · may fall asleep · held across · 12 ms']);
  assert.deepEqual(charging.wants, []);
});

test('how long ago', () => assert.deepEqual([3, 61, 7300].map(agoSaid), ['just now', '1 min ago', '2 h ago']));
