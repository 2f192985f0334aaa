/**
 * The looks: colours of page and screens. Ink of markings is from the Okabe-Ito set, those that reach 3:1 on the page
 * (WCAG 2.2, 1.4.11): blue 5.2, green 3.4, vermillion 3.9 on white; sky, yellow and orange on the dark page.
 *
 * @typedef {import('./wire.js').Layer} Layer
 * @typedef {object} Look
 * @property {'light' | 'dark' | 'warm'} name
 * @property {boolean} inverted
 * @property {string} paper
 * @property {string} ink
 * @property {Record<Layer, string>} layers
 * @property {string} shade over bars that are cut
 * @property {string} glow over the bar that was called
 */

/** @type {Record<Look['name'], Look>} */
export const LOOKS = {
  light: {
    name: 'light',
    inverted: false,
    paper: '#ffffff',
    ink: '#111111',
    layers: { mine: '#0072b2', section: '#009e73', band: '#d55e00' },
    shade: '#5a5a5a',
    glow: 'rgba(0, 114, 178, 0.13)',
  },
  dark: {
    name: 'dark',
    inverted: true,
    paper: '#050505',
    ink: '#c9c9c9',
    layers: { mine: '#56b4e9', section: '#f0e442', band: '#e69f00' },
    shade: '#9a9a9a',
    glow: 'rgba(86, 180, 233, 0.22)',
  },
  warm: {
    name: 'warm',
    inverted: true,
    paper: '#070403',
    ink: '#d8a878',
    layers: { mine: '#56b4e9', section: '#f0e442', band: '#e69f00' },
    shade: '#a08060',
    glow: 'rgba(230, 159, 0, 0.2)',
  },
};
