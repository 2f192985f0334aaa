/**
 * What hub and stands tell each other, as types: the mirror of the hub's wire messages (docs/reference/protocol.md).
 * JSON objects in text frames, told apart by `type`. Checked against the shared vectors by the type checker.
 */

export const PROTOCOL = 1;

/** Close codes of our own (4000-4999 are private, RFC 6455, section 7.4.2). */
export const CLOSE_WRONG_CODE = 4001;
export const CLOSE_WRONG_PROTOCOL = 4003;
export const CLOSE_UNKNOWN_CHAIR = 4004;

/** @typedef {string} BarId */
/** @typedef {'mine' | 'section' | 'band'} Layer */
/** @typedef {'received' | 'laid' | 'glass'} Stage */

/**
 * A place on a part: bar, fraction of its music width, stave from the top, staff spaces above the middle line, pressure.
 * @typedef {[bar: BarId, fraction: number, stave: number, spaces: number, pressure: number]} Point
 */
/** @typedef {[page: number, x: number, y: number, pressure: number]} PagePoint */
/** @typedef {{type: 'ink', points: Point[], width: number}} Ink */
/** @typedef {{type: 'page-ink', points: PagePoint[], width: number}} PageInk */
/** @typedef {{type: 'note', at: Point, text: string}} Note */
/**
 * @typedef {object} Marking
 * @property {string} id
 * @property {string} tune
 * @property {string} chair
 * @property {Layer} layer
 * @property {Ink | PageInk | Note} what
 * @property {string} section  the author's when it was made
 * @property {number | null} pass_  only this time through the bar; null: every time
 */

/** @typedef {{type: 'next', tune: string | null, item: string | null}} Next */
/** @typedef {{type: 'call', tune: string, start: string, item: string | null, in_turn?: boolean}} Call */
/** @typedef {{type: 'take-back-call', call: number}} TakeBackCall */
/** @typedef {{type: 'from', start: string}} From */
/** @typedef {{type: 'make-cut', id: string, tune: string, first: string, until: string, kept: boolean}} MakeCut */
/** @typedef {'cut' | 'times' | 'open' | 'tacet' | 'go-to' | 'no-repeats' | 'no-jumps' | 'pickup'} EditKind */
/**
 * @typedef {object} SayEdit
 * @property {'say-edit'} type
 * @property {string} id
 * @property {string} tune
 * @property {EditKind} kind
 * @property {string} first
 * @property {string} until
 * @property {number} times
 * @property {string[]} chairs
 * @property {string[]} sections
 * @property {boolean} kept
 */
/** @typedef {{type: 'take-back-edit', edit: string}} TakeBackEdit */
/** @typedef {{type: 'cue', edit: string, last: boolean}} Cue */
/** @typedef {{type: 'name-player', edit: string, who: string}} NamePlayer */
/** @typedef {{type: 'make-marking', marking: Marking}} MakeMarking */
/** @typedef {{type: 'erase-marking', marking: string}} EraseMarking */
/** @typedef {{type: 'add-chair', id: string, name: string, section: string, place: number | null}} AddChair */
/** @typedef {{type: 'rename-chair', chair: string, name: string}} RenameChair */
/** @typedef {{type: 'move-chair', chair: string, section: string, place: number}} MoveChair */
/** @typedef {{type: 'remove-chair', chair: string}} RemoveChair */
/** @typedef {{type: 'seat-parts', tune: string, chair: string, parts: string[]}} SeatParts */
/** A point of a part's page, in points from its top-left corner. @typedef {[page: number, x: number, y: number]} OnPage */
/** @typedef {{type: 'barline', at: OnPage, kind: string, to: number | null}} BarlineHere */
/** @typedef {{type: 'no-barline' | 'no-system' | 'line-is-right' | 'no-mark' | 'no-sign' | 'no-ending' | 'half', at: OnPage}} NotHere */
/** @typedef {{type: 'system', page: number, staves: [x0: number, top: number, x1: number, bottom: number][]}} SystemHere */
/** @typedef {{type: 'mark', at: OnPage, text: string, to: OnPage | null}} MarkHere */
/** @typedef {{type: 'rest', at: OnPage, count: number}} RestHere */
/** @typedef {{type: 'sign', at: OnPage, kind: string, edge: string, to: OnPage | null}} SignHere */
/** @typedef {{type: 'ending', at: OnPage, until: OnPage, passes: number[], instead?: OnPage | null}} EndingHere */
/** @typedef {{type: 'number', at: OnPage, number: number}} NumberHere */
/** @typedef {BarlineHere | NotHere | SystemHere | MarkHere | RestHere | SignHere | EndingHere | NumberHere} Said */
/** @typedef {{id: string, version: string, said: Said}} Correction */
/** @typedef {{type: 'correct', tune: string, part: string, correction: Correction}} Correct */
/** @typedef {{type: 'take-back-correction', tune: string, part: string, correction: string}} TakeBackCorrection */
/** @typedef {AddChair | RenameChair | MoveChair | RemoveChair | SeatParts | Correct | TakeBackCorrection} DeskCommand */
/**
 * A row of the set: a tune, or a break (no `tune`). What is not said is as if empty.
 * @typedef {object} SetItem
 * @property {string} [tune]
 * @property {boolean} [instead] may be played instead of the tune before it
 * @property {'' | 'on' | 'segue'} [then] the next is named by itself; straight into it
 * @property {string} [key]
 * @property {string} [notes] words to the players; of a break, its name
 * @property {number | null} [seconds] typed; else worked out
 * @property {string} [id] tells rows of one tune apart
 */
/** @typedef {{type: 'set-the-set', items: SetItem[], revision: number | null}} SetTheSet */
/** @typedef {'rehearsal' | 'gig'} DateKind */
/** @typedef {{type: 'open-date', id: string, name: string, kind: DateKind, day: string}} OpenDate */
/** @typedef {{type: 'close-date', date: string, keep: boolean}} CloseDate */
/** @typedef {{type: 'keep-edit', edit: string, kept: boolean}} KeepEdit */
/** @typedef {{type: 'take-over', id: string, date: string, tune: string}} TakeOver */
/** @typedef {{type: 'give-role' | 'take-role', chair: string, role: 'leader' | 'md'}} HandRole */
/** @typedef {{type: 'take-repeats', tune: string, taken: boolean | null}} TakeRepeats */
/**
 * The commands that a stand asks for; the hub knows more.
 * @typedef {Next | Call | TakeBackCall | From | MakeCut | SayEdit | TakeBackEdit | Cue | NamePlayer | MakeMarking | EraseMarking |
 *   SetTheSet |
 *   OpenDate | CloseDate | KeepEdit | TakeOver | HandRole | TakeRepeats | DeskCommand} Command
 */

/**
 * @typedef {object} Hello
 * @property {'hello'} type
 * @property {number} proto
 * @property {string} client  kept on the device for ever
 * @property {string} code
 * @property {string[]} codes
 * @property {string[]} chairs
 * @property {string} epoch
 * @property {number} seq
 * @property {[number, number]} page  mm; 0 x 0: shows no pages
 * @property {number} stave  mm
 * @property {number[]} ahead  mm: heights that the player may change to
 */
/** @typedef {{type: 'do', id: string, command: Command, call: number | null, chair: string}} Do */
/**
 * @typedef {object} Shown
 * @property {'shown'} type
 * @property {Stage} stage
 * @property {string} chair
 * @property {number} call
 * @property {string} tune
 * @property {number} revision
 * @property {number} page
 * @property {number} next_step  in the played order of `revision`: the first bar after the visible page
 */
/** @typedef {{type: 'ping', n: number, at: number}} Ping */
/** @typedef {{type: 'pong', n: number}} Pong */
/**
 * How this stand fares; what the browser does not tell is null.
 * @typedef {{missing: number, tunes: number, battery: number | null, charging: boolean | null, awake: boolean | null, upright: boolean | null}} Fares
 */
/** @typedef {{type: 'faring'} & Fares} Faring */
/** @typedef {{type: 'look-back', id: string, date: string, before: number}} LookBack */
/** @typedef {Hello | Do | Shown | Faring | LookBack | Ping | Pong} FromClient */

/** @typedef {{type: 'welcome', proto: number, epoch: string, seq: number, roles: string[], version: string}} Welcome */
/** @typedef {{type: 'sorry', why: string}} Sorry */
/** @typedef {{type: 'done', id: string, seq: number}} Done */
/** @typedef {{type: 'refused', id: string, why: string}} Refused */

/** @typedef {{id: string, name: string, stands: number}} ChairView */
/** @typedef {{name: string, chairs: ChairView[]}} SectionView */
/** @typedef {{type: 'band', name: string, sections: SectionView[]}} BandView */
/** @typedef {{tune: string, title: string, in_set: boolean}} TuneRow */
/** @typedef {{type: 'set', tunes: TuneRow[], items: SetItem[], revision: number, by: string}} SetView */
/** @typedef {{type: 'date', date: string, name: string, kind: DateKind, day: string}} DateView */
/** @typedef {{type: 'roles', roles: string[], given: [chair: string, roles: string[]][]}} RolesView */
/** @typedef {{date: string, name: string, kind: DateKind, day: string, open: boolean}} DateRow */
/**
 * @typedef {object} HistoryRow
 * @property {number} seq
 * @property {string} at
 * @property {string} date id
 * @property {string} by
 * @property {string} what
 * @property {string} tune title
 * @property {string} words
 */
/** @typedef {{tune: string, title: string, words: string, by: string, kept: boolean, holds: boolean}} StoodRow */
/** @typedef {{type: 'history', id: string, rows: HistoryRow[], more: boolean, dates: DateRow[], stood: StoodRow[]}} HistoryView */
/**
 * @typedef {object} PositionView
 * @property {'position'} type
 * @property {number} call  rises with every call, "from" and taking back; 0 before the first
 * @property {string | null} tune
 * @property {BarId | null} start
 * @property {number} start_pass
 * @property {string} by
 * @property {string} words
 * @property {string | null} next
 * @property {number | null} returns_to  the call whose page each stand returns to, when a call was taken back
 * @property {number | null} previous  the call that taking this one back would return to
 * @property {string[]} cued  edits whose open stretch was cued under this call
 * @property {Record<string, string>} players  who plays an open stretch next, by edit
 * @property {string} item  of the set's row that is on
 * @property {string} next_item
 * @property {string} [after]  of two calls at once: what the other one called, after which this one came
 * @property {string} [after_by]
 * @property {string} [device]  the client that called
 * @property {string} [after_device]
 */
/** @typedef {[bar: BarId, number: number, pass: number, mark: string]} ThreadStep */
/**
 * @typedef {object} EditRow
 * @property {string} id
 * @property {string} words
 * @property {string} by
 * @property {BarId | null} first
 * @property {BarId | null} until
 * @property {string} kind
 * @property {string} at  "2026-11-25T21:34"
 * @property {boolean} kept
 * @property {string} why  why it has no effect while another edit holds
 * @property {string[]} leads  chairs with notes leading out of what is cut
 * @property {string} leads_from  the bar that these stand in
 */
/** @typedef {[first: number, last: number, more: number, times: number, signs: boolean, edit: string]} AgainRow */
/** @typedef {[first: number, last: number, by: number]} FoldRow */
/** @typedef {{edit: string, chairs: string[], ranges: [number, number][]}} ForSome */
/**
 * @typedef {object} TuneView
 * @property {'tune'} type
 * @property {string} tune
 * @property {string} title
 * @property {number} revision
 * @property {ThreadStep[]} written
 * @property {[number, number][]} cut  ranges of positions in `written`, first and last
 * @property {EditRow[]} edits
 * @property {string} diagnosis
 * @property {number | null} seconds about, from tempo and played bars
 * @property {AgainRow[]} again  what is played again
 * @property {FoldRow[]} folds  positions that others show, between repeat signs
 * @property {ForSome[]} tacet
 * @property {ForSome[]} pickups
 * @property {string[]} in_words  parts that can only be told of edits in words
 * @property {boolean | null} repeats_after_jump  taken again after the D.S. or D.C.; null: it makes no difference
 */
/**
 * @typedef {object} PartView
 * @property {'part'} type
 * @property {string} tune
 * @property {string} chair
 * @property {number} revision
 * @property {string} title
 * @property {string} part  empty: tacet
 * @property {string} laying  hash
 * @property {string} pieces  hash
 * @property {number} first_step
 * @property {boolean} as_printed
 * @property {string[]} told
 * @property {string} version  its pages as printed are at /printed/<version>/<page>
 * @property {number} stave  mm that it is laid for
 */
/** @typedef {{type: 'slip', tune: string, words: string, edit: string, chairs: string[], at: number}} Slip */
/** @typedef {{type: 'markings', seq: number, made: Marking[], erased: string[], whole: boolean}} MarkingsView */
/**
 * @typedef {object} StandView
 * @property {string} client
 * @property {string[]} chairs
 * @property {boolean} here
 * @property {number} call
 * @property {number} revision  laid out
 * @property {string[]} roles
 * @property {number} received  the last revision that came
 * @property {number} glass  the revision that is seen
 * @property {number | null} missing  tunes not stored whole; null: not told
 * @property {number} tunes
 * @property {number | null} battery  percent
 * @property {boolean | null} charging
 * @property {boolean | null} awake
 * @property {boolean | null} upright
 * @property {number | null} round_trip  ms
 * @property {number} away  s since it was here
 */
/** @typedef {{type: 'presence', stands: StandView[]}} PresenceView */
/** @typedef {{type: 'status', seq: number}} StatusView */
/**
 * @typedef {object} CameRow
 * @property {string} id  of the file, for asking again
 * @property {string} file
 * @property {string} became
 * @property {string} title
 * @property {string} part
 * @property {string} why
 * @property {string[]} doubts
 * @property {number} bars
 * @property {number} marks
 */
/**
 * @typedef {object} DeskView
 * @property {'desk'} type
 * @property {number} seq
 * @property {CameRow[]} came
 * @property {number} done
 * @property {number} of
 * @property {string} what
 * @property {string[]} mending  "tune/part"
 * @property {string} said
 */
/**
 * @typedef {BandView | SetView | DateView | RolesView | HistoryView | PositionView | TuneView | PartView | Slip | MarkingsView | PresenceView | StatusView | DeskView
 * } View
 */
/** @typedef {Welcome | Sorry | Done | Refused | Ping | Pong | View} FromHub */

/* A laying and its pieces, fetched by hash. Lengths are mm on the page unless said otherwise. */

/** @typedef {[sx0: number, sx1: number, x0: number, x1: number]} Slice */
/** @typedef {{piece: number, y: number, space: number, slices: Slice[]}} Placed */
/** @typedef {[x0: number, y0: number, x1: number, y1: number]} Rule */
/** @typedef {[x: number, y: number, r: number]} Dot */
/** @typedef {'number' | 'count' | 'pass' | 'join' | 'mark' | 'note'} WordsStyle */
/** @typedef {'start' | 'middle' | 'end'} Anchor */
/** @typedef {{text: string, x: number, y: number, size: number, style: WordsStyle, anchor: Anchor}} Words */
/** @typedef {{steps: [number, number], x0: number, x1: number, staves: number[]}} LaidBar */
/** @typedef {{y0: number, y1: number, bars: LaidBar[]}} LaidLine */
/**
 * @typedef {object} LaidPage
 * @property {Placed[]} placed
 * @property {Rule[]} rules
 * @property {Dot[]} dots
 * @property {Words[]} words
 * @property {LaidLine[]} lines
 * @property {Rule[]} [braces]  the box that each fills
 * @property {boolean} turn_at_rest
 */
/**
 * @typedef {object} Laying
 * @property {number} version
 * @property {[number, number]} page
 * @property {number} stave
 * @property {number} space
 * @property {LaidPage[]} pages
 * @property {boolean} as_printed
 * @property {string[]} notes
 */
/** @typedef {{id: number, sheet: number, x: number, y: number, left: number, top: number, right: number, bottom: number}} Piece */
/** @typedef {{version: number, ladder: number[], sheets: string[][], pieces: Piece[]}} Pieces */
