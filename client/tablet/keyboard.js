/**
 * Keys of a keyboard or a pedal, to what they do on the screen that is up.
 *
 * @typedef {import('./app.js').App} App
 */
import { isPedal, turnOf } from './pedal.js';

/** @param {App} app @param {KeyboardEvent} event */
export function typed(app, event) {
  if (app.screen === 'door') return;
  if (app.screen === 'desk') {
    if (event.key === 'Escape' && !app.desk.close()) app.desk.to.leave();
    return;
  }
  const leading = app.screen === 'stand' || (app.screen === 'lead' && !app.lead.writing);
  if (leading && app.lead.callingKey.typed(event)) return;
  if (event.key === 'Escape') {
    if (app.screen !== 'stand') app.show('stand');
    else app.stand.marking = false;
  }
  if (app.screen === 'lead') app.lead.typed(event);
  if (app.screen === 'printed') {
    const turn = turnOf(event);
    if (turn) app.printed.turn(turn === 'on' ? 1 : -1);
  }
  if (app.screen !== 'stand') return;
  if (isPedal(event.key)) event.preventDefault();
  const turn = turnOf(event);
  if (turn === 'on') app.reader.turnOn();
  if (turn === 'back') app.reader.turnBack();
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === 'm') app.stand.marking = !app.stand.marking;
  if (event.key === 'l' && app.mayLead) app.show('lead');
  if (event.key === 'f' && app.mayDirect) app.show('form');
  if (event.key === 'p') app.showPrinted();
}
