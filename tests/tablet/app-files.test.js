import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { test } from 'node:test';

const app = new URL('../../client/tablet/', import.meta.url);

test('the service worker keeps every file that the page is made of', () => {
  const script = readFileSync(new URL('sw.js', app), 'utf8');
  const list = script.match(/FILES = `([^`]+)`/)?.[1].trim().split(/\s+/);
  const served = readdirSync(app).filter((name) => /\.(js|css|svg|webmanifest)$/.test(name) && name !== 'sw.js');
  assert.deepEqual([...(list ?? [])].sort(), served.sort());
});

test('the page loads nothing from elsewhere', () => {
  for (const name of readdirSync(app).filter((one) => /\.(js|css|html|webmanifest)$/.test(one))) {
    const text = readFileSync(new URL(name, app), 'utf8');
    assert.doesNotMatch(text, /(?:src|href|url\(|import|fetch\()\s*[=('"]*\s*(?:https?:)?\/\/\w/, name);
  }
});
