%% How the band's copyist sets a part: heading, marks, rests, slashes, drums.
\version "2.25.12"
\include "truth.ily"

%% A slash on the middle line, beside the usual drum kit.
#(define band-drums (cons (list 'slash 'slash #f 0) (hash-table->alist drums-style)))
drumPitchNames.slash = #'slash

\header {
  tagline = ##f
  copyright = "The Slack Tide Band library. Free for any use (CC0 1.0)."
}

\paper {
  indent = 16\mm
  short-indent = 0\mm
  left-margin = 13\mm
  right-margin = 13\mm
  top-margin = 11\mm
  bottom-margin = 10\mm
  ragged-last-bottom = ##t
  ragged-bottom = ##f
  ragged-last = ##f
  markup-system-spacing.basic-distance = #14
  markup-system-spacing.padding = #2
  top-system-spacing.basic-distance = #12
  system-system-spacing = #'((basic-distance . 12) (minimum-distance . 9) (padding . 1.6) (stretchability . 30))
  last-bottom-spacing.basic-distance = #8
  print-page-number = ##t
  bookTitleMarkup = \markup \column {
    \fill-line {
      \override #'(baseline-skip . 3) \column {
        \fontsize #2 \bold \fromproperty #'header:instrument
        \fontsize #-1 \fromproperty #'header:remark
      }
      \column { \vspace #0.8 \fontsize #6 \bold \fromproperty #'header:title }
      \override #'(baseline-skip . 2.6) \right-column {
        \null
        \fontsize #-0.5 \fromproperty #'header:composer
        \fontsize #-0.5 \fromproperty #'header:arranger
      }
    }
    \vspace #0.6
  }
  oddHeaderMarkup = \markup \if \should-print-page-number \unless \on-first-page-of-part \fill-line {
    \fromproperty #'header:instrument
    \fromproperty #'header:title
    \concat { "Page " \fromproperty #'page:page-number-string }
  }
  evenHeaderMarkup = \oddHeaderMarkup
  oddFooterMarkup = \markup \if \on-first-page-of-part \fill-line { \fontsize #-3 \fromproperty #'header:copyright }
  evenFooterMarkup = ##f
}

\layout {
  \context {
    \Score
    \override MultiMeasureRest.expand-limit = #1
    \override MultiMeasureRest.space-increment = #3
    \override RehearsalMark.font-size = #3
    \override RehearsalMark.padding = #1.2
    \override SegnoMark.font-size = #2
    \override CodaMark.font-size = #3
    \override CodaMark.break-visibility = #end-of-line-invisible
    \override SpacingSpanner.shortest-duration-space = #2.5
    \override JumpScript.direction = #UP
    \override JumpScript.font-shape = #'upright
    \override JumpScript.font-series = #'bold
    \override VoltaBracketSpanner.padding = #2
    \override BarNumber.font-size = #-1
    chordChanges = ##t
    majorSevenSymbol = \markup { maj7 }
    skipBars = ##t
  }
  \context {
    \Staff
    \override InstrumentName.font-size = #0
    \numericTimeSignature
  }
  \context {
    \Voice
    \consists Pitch_squash_engraver
  }
  \context {
    \DrumStaff
    \numericTimeSignature
    \override PercentRepeat.minimum-length = #7
    drumStyleTable = #(alist->hash-table band-drums)
    countPercentRepeats = ##t
    repeatCountVisibility = #(every-nth-repeat-count-visible 4)
  }
  \context {
    \ChordNames
    \override ChordName.font-size = #1
  }
}

%% \slashes BARS BEATS: a slash a beat, play time over the symbols.
slashes =
#(define-music-function (bars beats) (integer? integer?)
   #{ \improvisationOn \omit Stem \repeat unfold #bars { \repeat unfold #beats { b4 } }
      \undo \omit Stem \improvisationOff #})

%% The same, kept on one line.
slashLine =
#(define-music-function (bars beats) (integer? integer?)
   #{ \repeat unfold #(1- bars) { \slashes 1 #beats \noBreak } \slashes 1 #beats #})

drumSlashes =
#(define-music-function (bars beats) (integer? integer?)
   #{ \omit Stem \drummode { \repeat unfold #bars { \repeat unfold #beats { slash4 } } } \undo \omit Stem #})

%% Slashes with stems: these rhythms, your own voicing.
rhythm =
#(define-music-function (music) (ly:music?) #{ \improvisationOn #music \improvisationOff #})

onCue = #(make-music 'TextScriptEvent 'direction UP 'text (markup #:italic "On cue"))

%% A rehearsal mark; a new line is welcome there.
section = {
  \once \override Score.NonMusicalPaperColumn.line-break-penalty = #-20
  \mark \default
}

%% A new line is welcome here too, in the middle of a long section.
phrase = { \once \override Score.NonMusicalPaperColumn.line-break-penalty = #-8 }

%% A good place to turn.
turn = { \once \override Score.NonMusicalPaperColumn.page-break-penalty = #-400 }

toCoda = \markup \concat { "To Coda " \fontsize #2 \raise #0.6 \musicglyph "scripts.coda" }

cue =
#(define-event-function (words) (markup?)
   #{ ^\markup \italic #words #})

#(define parts-set 0)

#(define (with-truth file name book-of)
   (set! parts-set (1+ parts-set))
   (let ((port (open-output-file (string-append file ".truth") #:encoding "UTF-8")))
     (truth-row port "part" `((order . ,parts-set) (chair . ,(markup-words name))))
     (print-book-with-defaults (book-of port))
     (close-port port)))

%% One part, one PDF: \part FILE NAME REMARK MUSIC
part =
#(define-void-function (file name remark music) (string? markup? markup? ly:music?)
   (with-truth file name
    (lambda (port)
      #{ \book {
        \bookOutputName #file
        \paper { page-post-process = #(truth-pages port) }
        \header { instrument = #name remark = #remark }
        \score { #music \layout { \context { \Score \consists #(truth-engraver port) } } }
      } #})))

%% A sheet of words and chords without staves: \sheet FILE NAME REMARK WORDS
sheet =
#(define-void-function (file name remark words) (string? markup? markup? markup-list?)
   (with-truth file name
    (lambda (port)
      #{ \book {
        \bookOutputName #file
        \paper {
          page-post-process = #(truth-pages port)
          markup-markup-spacing = #'((basic-distance . 0) (padding . 2.4))
          ragged-bottom = ##t
        }
        \header { instrument = #name remark = #remark }
        \markuplist #words
      } #})))
