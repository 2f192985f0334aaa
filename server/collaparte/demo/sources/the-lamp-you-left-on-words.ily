%% The Lamp You Left On: the singer's sheet, words and chords without staves.
\version "2.25.12"

%% A chord above the words that start with it.
#(define-markup-command (over layout props chord words) (markup? markup?)
   (interpret-markup layout props
    #{ \markup \override #'(baseline-skip . 2.4) \left-column { \sans \bold #chord #words } #}))

%% The letter in its box at the left, the lines beside it.
#(define-markup-command (verse layout props letter lines) (markup? markup-list?)
   (interpret-markup layout props
    #{ \markup \line {
      \pad-to-box #'(0 . 6) #'(0 . 0) \fontsize #2 \override #'(box-padding . 0.4) \box \bold #letter
      \override #'(baseline-skip . 5.1) \column #lines
    } #}))

words = \markuplist \fontsize #1 {
  \line { \italic "Slow ballad, 66. Piano 4 bars." }
  \vspace #0.25
  \verse "A" {
    \line { \over "E♭maj7" "You left the lamp on" \over "Cm7" "in the hall," }
    \line { \over "Fm7" "a little boat of" \over "B♭7" "yellow light," }
    \line { \over "Gm7" "and I came" \over "C7(♭9)" "home to" \over "Fm7" "no one" \over "B♭7" "there" }
    \line { \over "E♭maj7" "but something" \over "Cm7" "said" \over "Fm7" "good" \over "B♭7" "night." }
  }
  \vspace #0.25
  \verse "B" {
    \line { \over "E♭maj7" "The kettle's cold, the" \over "Cm7" "clock is slow," }
    \line { \over "Fm7" "your coat has gone, the" \over "B♭7" "hook is bare," }
    \line { \over "Gm7" "but there's a" \over "C7(♭9)" "moth" \over "Fm7" "around the" \over "B♭7" "glow" }
    \line { \over "E♭6" "that thinks you must be" \over "B♭m7" "there." \over "E♭7" "" }
  }
  \vspace #0.25
  \verse "C" {
    \line { \over "A♭maj7" "So let it burn, let it" \over "A♭m6" "burn till day," }
    \line { \over "Gm7" "it costs me" \over "Cm7" "next to" \over "Gm7" "nothing" \over "C7(♭9)" "now," }
    \line { \over "Fm7" "the street can have what" \over "Am7(♭5)" "I can't" \over "D7" "say" }
    \line { \over "Gm7" "and keep it" \over "C7" "warm" \over "Fm7" "some-" \over "B♭7" "how." }
  }
  \vspace #0.25
  \verse "D" {
    \line { \over "E♭maj7" "And if you're passing" \over "Cm7" "in the rain" }
    \line { \over "Fm7" "and see a window" \over "B♭7" "gold and small," }
    \line { \over "Gm7" "it's only" \over "C7(♭9)" "that I" \over "Fm7" "can't ex-" \over "B♭7" "plain" }
    \line { \over "E♭6" "the dark in here at all." }
  }
  \vspace #0.25
  \verse "E" { \line { \italic "Band 4 bars, up into F." } }
  \vspace #0.25
  \verse "F" {
    \line { \over "Fmaj7" "You left the lamp on" \over "Dm7" "in the hall," }
    \line { \over "Gm7" "a little boat of" \over "C7" "yellow light," }
    \line { \over "Am7" "and I am" \over "D7(♭9)" "not so" \over "Gm7" "lost at" \over "C7" "all:" }
    \line { \over "Fmaj7" "it brings me" \over "Dm7" "home each" \over "Gm7" "night," \over "C7" "" }
  }
  \vspace #0.25
  \verse "G" {
    \line { \over "Am7" "it brings me" \over "D7(♭9)" "home" \over "Gm7" "each" \over "C7sus4" "night." \over "B♭maj7" "" \over "B♭m6" "" \over "Fmaj7" "" }
  }
}
