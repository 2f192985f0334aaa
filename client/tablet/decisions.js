/**
 * What has been decided: each with who, when, and take back; how far the stands are with it, and who could only be told.
 *
 * @typedef {import('./wire.js').TuneView} TuneView
 * @typedef {import('./wire.js').Command} Command
 * @typedef {import('./wire.js').EditRow} EditRow
 */
import { h, key } from './dom.js';
import { newId } from './ids.js';

/** Who and when, and for how long: "Drums, 21:34, kept". @param {EditRow} edit */
export function about(edit) {
  const [day, time] = edit.at.split('T');
  const today = new Date().toLocaleDateString('sv');
  return [edit.by, time ? (day === today ? time : `${day}, ${time}`) : '', edit.kept ? 'kept' : ''].filter(Boolean).join(', ');
}

/**
 * How far the stands that are here have come with a revision.
 * @param {import('./wire.js').StandView[]} stands
 * @param {number} revision
 */
export function howFar(stands, revision) {
  const here = stands.filter((stand) => stand.here && stand.chairs.length);
  const count = (/** @type {(stand: import('./wire.js').StandView) => number} */ of) => here.filter((stand) => of(stand) >= revision).length;
  return { here: here.length, received: count((one) => one.received), laid: count((one) => one.revision), glass: count((one) => one.glass) };
}

/** @param {string[]} names */
const listed = (names) => (names.length > 1 ? `${names.slice(0, -1).join(', ')} and ${names.at(-1)}` : (names[0] ?? ''));

/**
 * Who has notes that lead out of what is cut; they may keep them.
 * @param {TuneView} view
 * @param {EditRow} edit
 * @param {import('./room.js').Room} room
 * @param {(command: Command) => void} ask
 */
function pickupKeys(view, edit, room, ask) {
  const who = listed(edit.leads.map((chair) => room.chairName(chair)));
  const keep = () =>
    ask({ type: 'say-edit', id: newId(), tune: view.tune, kind: 'pickup', first: edit.leads_from, until: '', times: 1, chairs: edit.leads, sections: [], kept: edit.kept });
  return h(
    'div.leads',
    {},
    h('small', {}, `${who} ${edit.leads.length > 1 ? 'have' : 'has'} notes leading on in the last bar cut, ${edit.leads_from}.`),
    key('Keep as a pickup', keep, { 'data-do': 'pickup' }),
  );
}

/** @param {TuneView} view @param {import('./room.js').Room} room @param {(command: Command) => void} ask */
export function decisions(view, room, ask) {
  const rows = view.edits.map((edit) =>
    h(
      'div.decided',
      { 'data-edit': edit.id, role: 'listitem', 'data-waits': edit.why !== '' },
      h('p', {}, edit.words, h('small', {}, about(edit)), ...(edit.why ? [h('small.waits', {}, edit.why)] : [])),
      ...(edit.leads.length ? [pickupKeys(view, edit, room, ask)] : []),
      key('Take back', () => ask({ type: 'take-back-edit', edit: edit.id }), { 'data-do': 'take-back-edit' }),
    ),
  );
  const { here, received, laid, glass } = howFar(room.presence.stands, view.revision);
  const far = here ? `Of ${here} ${here === 1 ? 'stand' : 'stands'}: received by ${received}, laid out by ${laid}, on the glass of ${glass}.` : '';
  const told = view.in_words.length ? `Told in words only: ${view.in_words.join(', ')}.` : '';
  return h(
    'section.decisions',
    {},
    h('h2', {}, 'Decided'),
    h('div', { role: 'list' }, ...(rows.length ? rows : [h('p.quiet', {}, 'Nothing yet: the tune is played as written.')])),
    h('p.have', { 'data-have': laid, 'data-here': here }, view.edits.length ? far : ''),
    ...(view.edits.length && told ? [h('p.have', { 'data-told': view.in_words.length }, told)] : []),
  );
}
