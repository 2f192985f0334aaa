/** Socket and session with real sockets: a listener here says what the shared vectors say. */
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { once } from 'node:events';
import { WebSocketServer } from 'ws';
import { Connection } from '../../client/tablet/connection.js';
import { Session } from '../../client/tablet/session.js';
import { Store } from '../../client/tablet/store.js';
import { PROTOCOL } from '../../client/tablet/wire.js';
import { vectors } from './vectors.js';

globalThis.location ??= { protocol: 'http:', hostname: '127.0.0.1' };
const { from_hub: fromHub } = vectors('messages');
const welcome = fromHub.find(({ type }) => type === 'welcome');
const say = (socket, message) => socket.send(JSON.stringify(message));

/** A listener on a free port; `met` is called with each socket and its hello. */
async function listening(t, met) {
  const server = new WebSocketServer({ port: 0, host: '127.0.0.1' });
  await once(server, 'listening');
  const heard = [];
  server.on('connection', (socket) =>
    socket.on('message', (data) => {
      const message = JSON.parse(String(data));
      heard.push(message);
      if (message.type === 'hello') met(socket, heard.filter(({ type }) => type === 'hello').length);
    }),
  );
  t.after(() => {
    for (const socket of server.clients) socket.terminate();
    server.close();
  });
  return { port: server.address().port, heard, server };
}

/** Until something holds; the runner's own limit ends a test in which it never does. */
const until = async (holds) => {
  while (!holds()) await new Promise((resolve) => setTimeout(resolve, 5));
};

function connected(t, port) {
  const at = { heard: [], states: [], away: [] };
  at.connection = new Connection({
    address: () => `ws://127.0.0.1:${port}/`,
    hello: () => ({ type: 'hello', proto: PROTOCOL }),
    heard: (message) => at.heard.push(message),
    changed: (state) => at.states.push(state),
    turnedAway: (why, code) => at.away.push([why, code]),
  });
  t.after(() => at.connection.close());
  return at;
}

test('the protocol’s number is the hub’s', () => assert.equal(PROTOCOL, welcome.proto));

for (const code of [4001, 4003, 4004]) {
  test(`close code ${code} turns away, with the hub’s sentence and no further try`, async (t) => {
    const { port, heard } = await listening(t, (socket) => {
      say(socket, { type: 'sorry', why: 'That is not this band’s code.' });
      socket.close(code);
    });
    const at = connected(t, port);
    at.connection.open();
    await until(() => at.away.length);
    assert.deepEqual(at.away, [['That is not this band’s code.', code]]);
    at.connection.wake();
    await new Promise((resolve) => setTimeout(resolve, 300));
    assert.equal(heard.length, 1);
    assert.equal(at.connection.state, 'away');
  });
}

for (const code of [1000, 1001, 1011, 4000, 4002]) {
  test(`after close code ${code} the stand comes back by itself`, async (t) => {
    const { port } = await listening(t, (socket, visit) => {
      say(socket, welcome);
      if (visit === 1) socket.close(code);
    });
    const at = connected(t, port);
    at.connection.open();
    await until(() => at.states.filter((state) => state === 'joined').length === 2);
    assert.deepEqual(at.away, []);
  });
}

test('a ping is answered with its number, and is nobody else’s business', async (t) => {
  const { port, heard } = await listening(t, (socket) => {
    say(socket, welcome);
    say(socket, { type: 'ping', n: 17 });
  });
  const at = connected(t, port);
  at.connection.open();
  await until(() => heard.length === 2);
  assert.deepEqual(heard[1], { type: 'pong', n: 17 });
  assert.deepEqual(at.heard.map(({ type }) => type), ['welcome']);
});

async function seated(t, port) {
  const at = { heard: [], said: [], marked: 0, ticks: [] };
  const store = new Store('none');
  at.session = new Session(store, {
    page: () => [148, 197],
    heard: (message) => at.heard.push(message),
    linked: () => {},
    turnedAway: () => {},
    marked: () => at.marked++,
    say: (words) => at.said.push(words),
    ticked: (clock) => at.ticks.push(clock),
  });
  await at.session.restore();
  at.session.be({ socket: port, code: 'k3m9xw', chairs: ['alto2'] });
  t.after(() => at.session.connection.close());
  return at;
}
const marking = vectors('messages').from_client.find(({ command }) => command?.type === 'make-marking').command.marking;

test('every message that the hub sends is heard', async (t) => {
  const { port, heard } = await listening(t, (socket) => fromHub.forEach((message) => say(socket, message)));
  const at = await seated(t, port);
  at.session.connection.open();
  await until(() => at.heard.some(({ type }) => type === 'status'));
  const passed = fromHub.filter(({ type }) => type !== 'ping' && type !== 'pong');
  assert.deepEqual(at.heard, passed);
  assert.deepEqual(at.ticks, fromHub.filter(({ type }) => type === 'ping').map((ping) => ping.at));
  assert.deepEqual(at.session.roles, welcome.roles);
  assert.deepEqual([...at.session.markings.made.keys()], ['m1', 'm2', 'm3']);
  const { epoch, seq } = at.session.self;
  assert.deepEqual([epoch, seq], ['epoch-1', 41]);
  const wanted = vectors('messages').from_client.find(({ type }) => type === 'hello');
  assert.deepEqual(Object.keys(heard[0]).sort(), Object.keys(wanted).sort());
});

test('a marking made while the hub is away stands at once and goes to it when it is there', async (t) => {
  const { port, heard, server } = await listening(t, (socket) => say(socket, welcome));
  const at = await seated(t, port);
  at.session.mark(marking);
  assert.deepEqual([...at.session.markings.made.keys()], ['m1']);
  at.session.connection.open();
  await until(() => heard.length === 2);
  const wanted = vectors('messages').from_client.find(({ command }) => command?.type === 'make-marking');
  assert.deepEqual(Object.keys(heard[1]).sort(), Object.keys(wanted).sort());
  assert.deepEqual(heard[1].command, { type: 'make-marking', marking });
  const [socket] = server.clients;
  say(socket, { type: 'done', id: heard[1].id, seq: 9 });
  await until(() => at.session.outbox.waiting.length === 0);
});

test('a marking that the hub refuses is taken off again, with its sentence', async (t) => {
  const { port, heard, server } = await listening(t, (socket) => say(socket, welcome));
  const at = await seated(t, port);
  at.session.connection.open();
  await until(() => at.heard.length);
  at.session.mark(marking);
  await until(() => heard.length === 2);
  say([...server.clients][0], { type: 'refused', id: heard[1].id, why: 'There is no such tune.' });
  await until(() => at.said.length);
  assert.deepEqual(at.said, ['There is no such tune.']);
  assert.deepEqual([...at.session.markings.made], []);
});

test('a hub that was replaced is offered own markings that it lacks, and no call', async (t) => {
  const old = { ...welcome, epoch: 'epoch-1' };
  const fresh = { ...welcome, epoch: 'epoch-2', seq: 0 };
  const { port, heard, server } = await listening(t, (socket, visit) => {
    say(socket, visit === 1 ? old : fresh);
    if (visit === 2) for (const type of ['markings', 'status']) say(socket, type === 'status' ? { type, seq: 0 } : { type, seq: 0, made: [], erased: [], whole: true });
  });
  const at = await seated(t, port);
  at.session.connection.open();
  await until(() => at.heard.length);
  at.session.mark(marking);
  void at.session.ask({ type: 'call', tune: 'bus', start: '' }, 4);
  await until(() => heard.length === 3);
  say([...server.clients][0], { type: 'done', id: heard[1].id, seq: 9 });
  await until(() => at.session.outbox.waiting.length === 0);
  [...server.clients][0].close(1001);
  await until(() => heard.length === 5);
  assert.deepEqual([heard[3].type, heard[3].epoch], ['hello', 'epoch-1']);
  assert.deepEqual(heard[4].command, { type: 'make-marking', marking });
  assert.deepEqual([...at.session.markings.made.keys()], ['m1']);
  assert.equal(heard.filter(({ command }) => command?.type === 'call').length, 1);
});
