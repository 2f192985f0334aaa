/** Milliseconds: short steps and a low cap, since a hub in the room serves a few dozen stands at most. */
export const FIRST_WAIT = 100;
export const LONGEST_WAIT = 2500;

/**
 * How long to wait before try number `attempt` (0-based): doubled each time, half of it drawn by lot so that stands
 * which lost the hub together do not come back together.
 * @param {number} attempt
 * @param {number} lot in [0, 1)
 */
export function waitBefore(attempt, lot) {
  const whole = Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** Math.min(attempt, 10));
  return whole / 2 + (whole / 2) * lot;
}
