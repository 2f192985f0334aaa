import assert from 'node:assert/strict';
import { test } from 'node:test';
import { HUB_AWAY, NO_ANSWER, Outbox, mayWait } from '../../client/tablet/outbox.js';
import { HandClock, vectors } from './vectors.js';

function outbox() {
  const at = { clock: new HandClock(), here: true, sent: [], kept: new Set(), answers: [] };
  at.outbox = new Outbox({
    send: (message) => at.here && at.sent.push(message.id) > 0,
    keep: (message) => at.kept.add(message.id),
    drop: (id) => at.kept.delete(id),
    answered: (message, answer) => at.answers.push([message.id, answer.ok]),
    clock: at.clock,
  });
  return at;
}
const marking = (id) => ({ type: 'do', id, command: { type: 'erase-marking', marking: id }, call: null, chair: 'alto2' });
const call = (id) => ({ type: 'do', id, command: { type: 'call', tune: 'bus', start: '' }, call: 1, chair: 'alto2' });

test('of all commands only markings may wait', () => {
  const commands = vectors('messages').from_client.filter(({ type }) => type === 'do').map(({ command }) => command);
  assert.deepEqual([...new Set(commands.filter(mayWait).map(({ type }) => type))].sort(), ['erase-marking', 'make-marking']);
});

test('a call without a hub fails at once, in words, and is never sent', async () => {
  const at = outbox();
  at.here = false;
  assert.deepEqual(await at.outbox.ask(call('c')), { ok: false, why: HUB_AWAY });
  at.here = true;
  at.outbox.flush();
  assert.deepEqual(at.sent, []);
});

test('a call without an answer fails after two seconds and is not sent again', async () => {
  const at = outbox();
  const answer = at.outbox.ask(call('c'));
  let said;
  void answer.then((one) => (said = one));
  at.clock.pass(1999);
  await Promise.resolve();
  assert.equal(said, undefined);
  at.clock.pass(1);
  assert.deepEqual(await answer, { ok: false, why: NO_ANSWER });
  at.outbox.flush();
  at.outbox.hear('c', { ok: true, seq: 3 });
  assert.deepEqual(at.sent, ['c']);
  assert.deepEqual(at.answers, []);
});

test('a call that is answered in time takes the answer, and no clock is left going', async () => {
  const at = outbox();
  const answer = at.outbox.ask(call('c'));
  at.outbox.hear('c', { ok: true, seq: 3 });
  assert.deepEqual(await answer, { ok: true, seq: 3 });
  assert.deepEqual(at.clock.waiting, []);
});

test('markings wait for the hub, are sent in order, again until each is answered', () => {
  const at = outbox();
  at.here = false;
  for (const id of ['a', 'b', 'c']) at.outbox.queue(marking(id));
  at.clock.pass(3_600_000);
  assert.deepEqual([...at.kept], ['a', 'b', 'c']);
  at.here = true;
  at.outbox.flush();
  at.outbox.hear('a', { ok: true, seq: 1 });
  at.outbox.hear('b', { ok: false, why: 'No such tune.' });
  at.outbox.flush();
  assert.deepEqual(at.sent, ['a', 'b', 'c', 'c']);
  assert.deepEqual([...at.kept], ['c']);
  assert.deepEqual(at.answers, [['a', true], ['b', false]]);
});

test('what was stored before a reload is sent as what was made after it', () => {
  const at = outbox();
  at.outbox.restore([marking('a')]);
  at.outbox.queue(marking('b'));
  assert.deepEqual(at.outbox.waiting.map(({ id }) => id), ['a', 'b']);
  at.outbox.flush();
  assert.deepEqual(at.sent, ['b', 'a', 'b']);
});
