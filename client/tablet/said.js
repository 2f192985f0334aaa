/**
 * What a player is told in words at the foot of the page: a decision, and a call with what the set says of its tune.
 *
 * @typedef {import('./wire.js').PositionView} PositionView
 * @typedef {import('./room.js').Room} Room
 * @typedef {import('./slips.js').Slips} Slips
 */

/**
 * What was decided; of a tune that is not on the page, with its name.
 * @param {import('./wire.js').Slip} slip
 * @param {string | undefined} shown the tune on the page
 * @param {Room} room
 * @param {Slips} slips
 */
export function saySlip({ words, tune, at }, shown, room, slips) {
  const here = shown === tune;
  const title = here ? '' : room.title(tune);
  slips.say(title ? `${title}: ${words}` : words, at > 0, here ? tune : '');
}

/**
 * What the set says of a tune that was just called; and whose call it was, where another led before.
 * @param {PositionView} before
 * @param {PositionView} now
 * @param {Room} room
 * @param {Slips} slips
 */
export function sayCall(before, now, room, slips) {
  if (now.tune === null) return;
  const { on } = room;
  const moved = now.tune !== before.tune || (now.item ?? '') !== (before.item ?? '');
  const item = moved ? room.item(on) : undefined;
  const words = [now.tune === before.tune && moved ? room.titleOf(on) : '', item?.key, item?.notes].filter(Boolean);
  if (words.length) slips.say(words.join(' · '));
  if (now.after || (before.by && now.by && before.by !== now.by)) slips.say(`${now.words ? `From ${now.words}` : room.titleOf(on)}: called by ${now.by}`);
}
