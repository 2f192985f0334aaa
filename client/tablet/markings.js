/**
 * The fold of markings: by id, with tombstones, so that the order and number of arrivals never matter.
 * The same cases as the hub's are run from tests/vectors/markings.json.
 *
 * @typedef {import('./wire.js').Marking} Marking
 * @typedef {import('./wire.js').MarkingsView} MarkingsView
 * @typedef {{made: ReadonlyMap<string, Marking>, erased: ReadonlySet<string>, seq: number}} Folded
 */

/** @type {Folded} */
export const NONE = { made: new Map(), erased: new Set(), seq: 0 };

/**
 * What stands after a view: an erased marking never comes back; `whole` forgets what is neither named nor waiting.
 * @param {Folded} before
 * @param {MarkingsView} view
 * @param {ReadonlySet<string>} [waiting] ids of markings made here that the hub has not acknowledged
 * @returns {Folded}
 */
export function fold(before, view, waiting = new Set()) {
  const made = new Map(view.whole ? [...before.made].filter(([id]) => waiting.has(id)) : before.made);
  const erased = new Set(before.erased);
  for (const id of view.erased) {
    erased.add(id);
    made.delete(id);
  }
  for (const marking of view.made) if (!erased.has(marking.id)) made.set(marking.id, marking);
  return { made, erased, seq: Math.max(before.seq, view.seq) };
}

/**
 * One's own marking, at once, before the hub has it.
 * @param {Folded} before
 * @param {Marking} marking
 * @returns {Folded}
 */
export function withMade(before, marking) {
  return fold(before, { type: 'markings', seq: 0, made: [marking], erased: [], whole: false });
}

/**
 * Take a marking away on this stand only, without a tombstone: the hub has the last word.
 * @param {Folded} before
 * @param {string} id
 * @returns {Folded}
 */
export function without(before, id) {
  const made = new Map(before.made);
  made.delete(id);
  return { ...before, made };
}

/**
 * Own acknowledged markings that a replaced hub lacks, to be offered to it by id.
 * @param {Iterable<Marking>} own
 * @param {Folded} now what the new hub has told, in whole
 * @returns {Marking[]}
 */
export function lacking(own, now) {
  return [...own].filter((marking) => !now.made.has(marking.id) && !now.erased.has(marking.id));
}
