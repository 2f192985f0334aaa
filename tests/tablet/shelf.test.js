import assert from 'node:assert/strict';
import { test } from 'node:test';
import { CopyShelf } from '../../client/tablet/shelf.js';
import { Store } from '../../client/tablet/store.js';

/** A store that can be slow to say what it keeps, as on a busy tablet. (In this engine it keeps all in memory.) */
class SlowStore extends Store {
  asked = Promise.resolve();
  async keys(kind) {
    const found = await super.keys(kind);
    await this.asked;
    return found;
  }
}

const gate = () => {
  let open;
  return Object.assign(new Promise((resolve) => (open = resolve)), { open: () => open() });
};
/** Until it is so; the engine's own limit ends a test that waits for ever. */
async function until(so) {
  while (!so()) await new Promise((resolve) => setImmediate(resolve));
}
const files = (name) => ({
  [name]: { pages: [{ lines: [{ bars: [{ steps: [0, 0] }] }], placed: [] }], stave: 7 },
  [`${name}-pieces`]: { ladder: [10], pieces: [], sheets: [[`${name}-sheet`, `${name}-sheet-2`]] },
});
const tune = { type: 'tune', tune: 'bus', title: 'Bus', revision: 0, written: [['b1', 1, 1, '']], cut: [], again: [], folds: [], tacet: [], pickups: [], in_words: [] };
const part = (laying, change = {}) => ({
  type: 'part', tune: 'bus', chair: 'alto2', revision: 0, title: 'Bus', part: 'Alto 2', laying, pieces: `${laying}-pieces`,
  first_step: 0, as_printed: false, told: [], version: 'v', stave: 7, ...change,
});

function shelf() {
  const store = new SlowStore('shelf');
  const hub = { ...files('first'), ...files('second'), ...files('ahead') };
  const at = { store, fetched: [], held: [], late: Promise.resolve(), worked: 0 };
  at.shelf = new CopyShelf({
    store,
    fetchFile: async (kind, hash) => {
      at.fetched.push(hash);
      if (hash === 'ahead-sheet-2') await at.late;
      return new Response(kind === 'sheet' ? 'a picture' : JSON.stringify(hub[hash]));
    },
    scale: () => 1,
    rank: () => 0,
    stave: () => 7,
    held: () => at.held,
    stored: () => {},
    progress: () => at.worked++,
  });
  at.shelf.hearTune(tune);
  at.has = (laying) => at.shelf.copies('bus', 'alto2').some((copy) => copy.laying === laying);
  at.kept = async () => [...(await Store.prototype.keys.call(store, 'files')), ...(await Store.prototype.keys.call(store, 'sheets'))].sort();
  return at;
}

test('what no copy needs any more is forgotten, unless a place still refers to it', async () => {
  const at = shelf();
  at.shelf.hearPart(part('first'));
  await until(() => at.has('first') && at.shelf.complete);
  const [old] = at.shelf.copies('bus', 'alto2');
  at.shelf.hearPart(part('second'));
  await until(() => at.has('second'));
  at.held = [old];
  await at.shelf.sweep(() => at.held);
  assert.ok(at.shelf.laying(old));
  at.held = [];
  await at.shelf.sweep(() => at.held);
  assert.deepEqual(await at.kept(), ['second', 'second-pieces', 'second-sheet', 'second-sheet-2']);
  assert.equal(at.shelf.laying(old), null);
});

test('what comes while the store is asked stays', async () => {
  const at = shelf();
  at.shelf.hearPart(part('first'));
  await until(() => at.has('first') && at.shelf.complete);
  at.store.asked = gate();
  const swept = at.shelf.sweep(() => at.held);
  at.shelf.hearPart(part('second'));
  await until(() => at.has('second'));
  at.store.asked.open();
  await swept;
  const [copy] = at.shelf.copies('bus', 'alto2');
  assert.equal(copy.laying, 'second');
  assert.ok(at.shelf.laying(copy), 'a copy on the shelf has its laying');
  assert.deepEqual((await at.kept()).filter((hash) => hash.startsWith('second')), ['second', 'second-pieces', 'second-sheet', 'second-sheet-2']);
});

test('nothing is swept from under a copy that is on its way', async () => {
  const at = shelf();
  at.late = gate();
  at.shelf.hearPart(part('ahead', { stave: 8 }));
  await until(() => at.fetched.includes('ahead-sheet-2'));
  // Another height was chosen meanwhile: nothing is wanted, though the one before is not here whole.
  at.shelf.to.stave = () => 10;
  at.shelf.chosen();
  assert.ok(at.shelf.complete);
  const swept = at.shelf.sweep(() => at.held);
  at.late.open();
  await swept;
  await until(() => at.has('ahead'));
  for (const copy of at.shelf.copies('bus', 'alto2')) {
    assert.ok(at.shelf.laying(copy));
    assert.deepEqual(await at.kept(), [copy.laying, copy.pieces, `${copy.laying}-sheet`, `${copy.laying}-sheet-2`]);
  }
});

test('what was told before and comes later does not take the place of what was told since', async () => {
  const at = shelf();
  at.late = gate();
  const now = { ...tune, revision: 2 };
  for (const view of [{ ...tune, revision: 1 }, now]) at.shelf.hearTune(view);
  at.shelf.hearPart(part('ahead', { revision: 1 }));
  await until(() => at.fetched.includes('ahead-sheet-2'));
  // As where a cut is taken back at once: of what stands again all is here.
  at.shelf.hearPart(part('second', { revision: 2 }));
  await until(() => at.has('second'));
  const { worked } = at;
  at.late.open();
  await until(() => at.worked > worked);
  assert.deepEqual(at.shelf.copies('bus', 'alto2').map(({ laying, revision }) => [laying, revision]), [['second', 2]]);
  assert.ok(at.shelf.complete);
});
