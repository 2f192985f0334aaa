%% Ninepenny Waltz: jazz waltz in B flat with a pickup, 80 bars, Letter.
\version "2.25.12"
\include "house.ily"
\include "ninepenny-waltz-horns.ily"
\include "ninepenny-waltz-rhythm.ily"

#(set-default-paper-size "letter")
#(set-global-staff-size (* 7.2 (/ 72.27 25.4)))

\header {
  title = "Ninepenny Waltz"
  composer = "Tobias Wrenfield"
  arranger = "arr. Nora Pettibone"
}
\layout {
  \context {
    \Score
    rehearsalMarkFormatter = #format-mark-box-alphabet
    \override SpacingSpanner.shortest-duration-space = #2.9
  }
}

form = {
  \key bes \major \time 3/4 \tempo "Jazz waltz" 4 = 160
  \partial 4 s4
  \repeat volta 2 {
    \section s2.*8 \phrase s2.*4
  } \alternative { s2.*4 s2.*4 }
  \bar "||" \section s2.*8 \phrase s2.*8
  \bar "||" \section s2.*8 \phrase s2.*8
  \repeat volta 2 { \section s2.*8 \phrase s2.*8 }
  \section s2.*10
  \tempo "rit." s2.*2 \bar "|."
}

twelve = \chordmode { bes2.:maj7 g:m7 c:m7 f:7 d:m7 g:7 c:m7 f:7 bes:maj7 bes:7 ees:maj7 ees:m6 }
firstEnd = \chordmode { d2.:m7 g:7.9- c:m7 f:7 }
secondEnd = \chordmode { c2.:m7 f:7 bes:6 bes:6 }
bridge = \chordmode {
  f2.:m7 bes:7 ees:maj7 ees:maj7 a:m7.5- d:7.9- g:m7 g:m7
  c:m7 c:m7/bes a:m7.5- d:7 g:m7 c:7 c:m7 f:7
}
ending = \chordmode { c2.:m7 f:7 d:m7 g:7 c:m7 f:7 bes:maj7 ees:maj7 c:m7 f:sus4.7 bes:maj7 bes:maj7 }
afterEight = \chordmode { bes2.:maj7 bes:7 ees:maj7 ees:m6 }

solos = { \twelve \firstEnd }
fromFirstEnd = { \firstEnd \secondEnd \bridge \twelve \secondEnd \solos \ending }
changes = { s4 \twelve \fromFirstEnd }
guitarChanges = { s4 s2.*8 \afterEight \fromFirstEnd }
soloChanges = { s4 s2.*52 \solos }

\part "01 Alto 1" "Alto 1" "" \transpose ees c' << \new ChordNames \soloChanges \new Staff << \form \altoOne >> >>
\part "02 Alto 2" "Alto 2" "" \transpose ees c' \new Staff << \form \altoTwo >>
\part "03 Tenor" "Tenor" "" \transpose bes, c' \new Staff << \form \tenor >>
\part "04 Baritone" "Baritone" "" \transpose ees, c' \new Staff << \form \bari >>
\part "05 Trumpet 1" "Trumpet 1" "" \transpose bes c' << \new ChordNames \soloChanges \new Staff << \form \trumpetOne >> >>
\part "06 Trumpet 2" "Trumpet 2" "" \transpose bes c' \new Staff << \form \trumpetTwo >>
\part "07 Trombone" "Trombone" "" \new Staff << \clef bass \form \trombone >>
\part "08 Guitar" "Guitar" "" << \new ChordNames \guitarChanges \new Staff << \form \guitarComp >> >>
\part "09 Piano" "Piano" "" <<
  \new ChordNames \changes
  \new PianoStaff <<
    \new Staff << \form \pianoRight >>
    \new Staff << \clef bass \form \pianoLeft >>
  >>
>>
\part "10 Bass" "Bass" "" << \new ChordNames \changes \new Staff << \clef bass \form \bassLine >> >>
\part "11 Drums" "Drums" "" \new DrumStaff << \form \drumPart >>
