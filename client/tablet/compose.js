/**
 * A page on the glass: pieces drawn from their sheets, then the lines, dots and words that are set anew.
 * `plan` is pure arithmetic; `draw` only carries it out. Lengths in the laying are mm, in the plan device pixels.
 *
 * @typedef {import('./wire.js').LaidPage} LaidPage
 * @typedef {import('./wire.js').Laying} Laying
 * @typedef {import('./wire.js').Pieces} Pieces
 * @typedef {import('./wire.js').Rule} Rule
 * @typedef {import('./wire.js').Words} Words
 * @typedef {import('./look.js').Look} Look
 * @typedef {CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D} Context
 */

/** Enlarging beyond this is soft (measured): take the next size up of the ladder. */
const MOST_ENLARGED = 1.1;

/**
 * The rung of the ladder to draw from: the smallest that need not be enlarged, else the largest.
 * @param {number[]} ladder px a staff space, rising
 * @param {number} wanted device px a staff space
 */
export function rungFor(ladder, wanted) {
  const at = ladder.findIndex((rung) => rung * MOST_ENLARGED >= wanted);
  return at < 0 ? ladder.length - 1 : at;
}

/**
 * The rung that a whole laying is drawn from: one for all pages, so that its sheets are fetched once.
 * @param {Laying} laying
 * @param {Pieces} pieces
 * @param {number} scale device px a mm
 */
export function rungOf(laying, pieces, scale) {
  const largest = Math.max(0, ...laying.pages.flatMap((page) => page.placed.map((placed) => placed.space)));
  return rungFor(pieces.ladder, largest * scale);
}

/**
 * The sheets that a page draws from.
 * @param {LaidPage} page
 * @param {Pieces} pieces
 * @returns {Set<number>}
 */
export function sheetsOf(page, pieces) {
  const sheetOf = new Map(pieces.pieces.map((piece) => [piece.id, piece.sheet]));
  return new Set(page.placed.map((placed) => sheetOf.get(placed.piece)).filter((sheet) => sheet !== undefined));
}

/** @typedef {{sheet: number, sx: number, sy: number, sw: number, sh: number, x: number, y: number, w: number, h: number}} Stroke */

/**
 * @param {LaidPage} page
 * @param {Pieces} pieces
 * @param {number} rung index into the ladder
 * @param {number} scale device px a mm
 * @returns {Stroke[]} one `drawImage` each; both edges of every target are whole pixels, else hairlines show between
 */
export function plan(page, pieces, rung, scale) {
  const per = pieces.ladder[rung];
  const byId = new Map(pieces.pieces.map((piece) => [piece.id, piece]));
  return page.placed.flatMap((placed) => {
    const piece = byId.get(placed.piece);
    if (!piece) return [];
    const y = Math.round((placed.y + piece.top * placed.space) * scale);
    const h = Math.max(1, Math.round((placed.y + piece.bottom * placed.space) * scale) - y);
    return placed.slices.flatMap(([sx0, sx1, x0, x1]) => {
      const x = Math.round(x0 * scale);
      const w = Math.round(x1 * scale) - x;
      if (w <= 0 || sx1 <= sx0) return [];
      return [
        {
          sheet: piece.sheet,
          sx: (piece.x + sx0 - piece.left) * per,
          sy: piece.y * per,
          sw: (sx1 - sx0) * per,
          sh: (piece.bottom - piece.top) * per,
          x,
          y,
          w,
          h,
        },
      ];
    });
  });
}

/**
 * A rule on whole pixels: thin ones keep one thickness all over the page, whatever their place.
 * @param {number} from mm
 * @param {number} to mm
 * @param {number} scale
 * @returns {[start: number, length: number]}
 */
export function snapped(from, to, scale) {
  const length = (to - from) * scale;
  if (length >= 6) {
    const start = Math.round(from * scale);
    return [start, Math.round(to * scale) - start];
  }
  const whole = Math.max(1, Math.round(length));
  return [Math.round(((from + to) / 2) * scale - whole / 2), whole];
}

/** How words are set: the generic families only, since the stand has no others for certain. */
const FACES = /** @type {const} */ ({
  number: 'italic 400 {}px ui-serif, Georgia, serif',
  count: '700 {}px ui-serif, Georgia, serif',
  pass: 'italic 600 {}px ui-serif, Georgia, serif',
  join: '600 {}px ui-sans-serif, system-ui, sans-serif',
  mark: '700 {}px ui-sans-serif, system-ui, sans-serif',
  note: 'italic 400 {}px ui-serif, Georgia, serif',
});

/** @param {Context} context @param {Words} words @param {number} scale */
function drawWords(context, words, scale) {
  const size = words.size * scale;
  context.font = FACES[words.style].replace('{}', size.toFixed(2));
  context.textAlign = words.anchor === 'middle' ? 'center' : words.anchor;
  context.textBaseline = 'alphabetic';
  const [x, y] = [words.x * scale, words.y * scale];
  context.fillText(words.text, x, y);
  if (words.style !== 'mark') return;
  const width = context.measureText(words.text).width;
  const left = words.anchor === 'middle' ? x - width / 2 : words.anchor === 'end' ? x - width : x;
  const pad = size * 0.22;
  context.lineWidth = Math.max(1, size * 0.07);
  context.strokeRect(left - pad, y - size * 0.72 - pad, width + 2 * pad, size * 0.72 + 2 * pad);
}

/**
 * A brace: its upper half out and back, and that half's reflection. The curves are those of the laid PDF.
 * @param {Context} context @param {Rule} box @param {number} scale
 */
function drawBrace(context, [x0, y0, x1, y1], scale) {
  for (const [from, to] of [[y0, y1], [y1, y0]]) {
    /** @type {(x: number, y: number) => [number, number]} */
    const at = (x, y) => [(x0 + x * (x1 - x0)) * scale, (from + y * (to - from)) * scale];
    context.beginPath();
    context.moveTo(...at(1, 0));
    context.bezierCurveTo(...at(0.1, 0.17), ...at(0.75, 0.37), ...at(0, 0.5));
    context.bezierCurveTo(...at(1.2, 0.37), ...at(0.55, 0.17), ...at(1, 0));
    context.fill();
  }
}

/**
 * Draw a page, look baked in.
 * @param {Context} context of a canvas of the page's size in device px
 * @param {object} job
 * @param {LaidPage} job.page
 * @param {Pieces} job.pieces
 * @param {number} job.rung
 * @param {number} job.scale device px a mm
 * @param {Look} job.look
 * @param {(sheet: number) => CanvasImageSource | undefined} sheet
 */
export function draw(context, { page, pieces, rung, scale, look }, sheet) {
  const { width, height } = context.canvas;
  context.globalCompositeOperation = 'source-over';
  context.fillStyle = '#fff';
  context.fillRect(0, 0, width, height);
  context.imageSmoothingEnabled = true;
  context.imageSmoothingQuality = 'high';
  for (const stroke of plan(page, pieces, rung, scale)) {
    const picture = sheet(stroke.sheet);
    if (!picture) continue;
    const { sx, sy, sw, sh, x, y, w, h } = stroke;
    context.drawImage(picture, sx, sy, sw, sh, x, y, w, h);
  }
  context.fillStyle = context.strokeStyle = '#000';
  for (const [x0, y0, x1, y1] of page.rules) {
    const [x, w] = snapped(x0, x1, scale);
    const [y, h] = snapped(y0, y1, scale);
    context.fillRect(x, y, w, h);
  }
  for (const [x, y, r] of page.dots) {
    context.beginPath();
    context.arc(x * scale, y * scale, r * scale, 0, 2 * Math.PI);
    context.fill();
  }
  for (const box of page.braces ?? []) drawBrace(context, box, scale);
  for (const words of page.words) drawWords(context, words, scale);
  tint(context, look);
}

/**
 * Turn black on white into the look's ink on its paper. Blending, since `filter` is slow and ignored by some engines.
 * @param {Context} context
 * @param {Look} look
 */
function tint(context, look) {
  const { width, height } = context.canvas;
  if (look.inverted) {
    context.globalCompositeOperation = 'difference';
    context.fillStyle = '#fff';
    context.fillRect(0, 0, width, height);
  }
  context.globalCompositeOperation = 'multiply';
  context.fillStyle = look.inverted ? look.ink : look.paper;
  context.fillRect(0, 0, width, height);
  context.globalCompositeOperation = 'lighten';
  context.fillStyle = look.inverted ? look.paper : look.ink;
  context.fillRect(0, 0, width, height);
  context.globalCompositeOperation = 'source-over';
}
