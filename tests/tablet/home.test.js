import assert from 'node:assert/strict';
import { test } from 'node:test';
import { betterHomes, keeping } from '../../client/tablet/home.js';

const canonical = 'http://owls.local:8760';
const secure = { origin: 'https://owls.local:8762', port: 8762, since: 1000, until: 2000 };
const hub = { band: 'Night Owls', protocol: 1, epoch: 'e', socket: 8761, canonical, version: '0', secure };
const plain = { ...hub, secure: null };
const at = (/** @type {string} */ address) => new URL(address);

test('a bare address only joins: the name is home, the secure one before the plain one', () => {
  assert.deepEqual(betterHomes(plain, at('http://192.0.2.7:8760/')), [canonical]);
  assert.deepEqual(betterHomes(hub, at('http://192.0.2.7:8760/')), [secure.origin, 'https://192.0.2.7:8762', canonical]);
  assert.deepEqual(betterHomes(hub, at('http://[fd00::2]:8760/')), [secure.origin, 'https://[fd00::2]:8762', canonical]);
});

test('whoever is at home stays', () => {
  assert.deepEqual(betterHomes(plain, at(canonical)), []);
  assert.deepEqual(betterHomes({ ...hub, canonical: secure.origin }, at(secure.origin)), []);
});

test('the plain name goes over to the secure one, which never goes back', () => {
  assert.deepEqual(betterHomes(hub, at(canonical)), [secure.origin]);
  const overTls = { ...hub, canonical: secure.origin };
  assert.deepEqual(betterHomes(overTls, at('https://192.0.2.7:8762/')), [secure.origin]);
});

test('what the Door says of keeping the page', () => {
  assert.equal(keeping(true, hub, 1500), 'kept');
  assert.equal(keeping(false, hub, 1500), 'refused');
  assert.equal(keeping(null, hub, 1500), 'offered');
  for (const now of [0, 999, 2001]) assert.equal(keeping(null, hub, now), 'clock');
  assert.equal(keeping(null, plain, 1500), '');
  assert.equal(keeping(null, null, 1500), '');
});
