%% The Lamp You Left On: ballad in E flat going up to F, 52 bars, A4. Trumpet 2 is tacet.
\version "2.25.12"
\include "house.ily"
\include "the-lamp-you-left-on-horns.ily"
\include "the-lamp-you-left-on-rhythm.ily"
\include "the-lamp-you-left-on-words.ily"

#(set-default-paper-size "a4")
#(set-global-staff-size (* 7.8 (/ 72.27 25.4)))

\header {
  title = "The Lamp You Left On"
  composer = "Marit Ellwood"
  arranger = "arr. I. Castellane"
}
\layout {
  \context {
    \Score
    rehearsalMarkFormatter = #format-mark-box-alphabet
    \override SpacingSpanner.shortest-duration-space = #3
  }
}

form = {
  \key ees \major \time 4/4 \tempo "Slow ballad" 4 = 66
  s1*4
  \bar "||" \section s1*8
  \bar "||" \section s1*8
  \bar "||" \section s1*8
  \bar "||" \section s1*8
  \bar "||" \section s1*4
  \bar "||" \key f \major \section s1*8
  \bar "||" \section s1*2 \tempo "rit." s1*2 \bar "|."
}

intro = \chordmode { ees1:maj7 c:m7 f2:m7 bes:7 ees:maj7 bes:7sus4 }
verse = \chordmode { ees1:maj7 c:m7 f:m7 bes:7 g2:m7 c:7.9- f:m7 bes:7 }
fromA = {
  \verse \chordmode { ees2:maj7 c:m7 f:m7 bes:7 }
  \verse \chordmode { ees1:6 bes2:m7 ees:7 }
  \chordmode { aes1:maj7 aes:m6 g2:m7 c:m7 g:m7 c:7.9- f1:m7 a2:m7.5- d:7 g:m7 c:7 f:m7 bes:7 }
  \verse \chordmode { ees1:6 ees:6 }
  \chordmode { aes1:maj7 aes:m6 g2:m7 c:7.9- g:m7 c:7 }
  \chordmode { f1:maj7 d:m7 g:m7 c:7 a2:m7 d:7.9- g:m7 c:7 f:maj7 d:m7 g:m7 c:7 }
  \chordmode { a2:m7 d:7.9- g:m7 c:7sus4 bes:maj7 bes:m6 f1:maj7 }
}
changes = { \intro \fromA }
guitarChanges = { s1*4 \fromA }
bassChanges = { s1*2 \chordmode { f2:m7 bes:7 ees:maj7 bes:7sus4 } \fromA }

\part "Alto Sax 1" "Alto Sax 1" "" \transpose ees c' \new Staff << \form \altoOne >>
\part "Alto Sax 2" "Alto Sax 2" "" \transpose ees c' \new Staff << \form \altoTwo >>
\part "Tenor Sax" "Tenor Sax" "" \transpose bes, c' \new Staff << \form \tenor >>
\part "Bari Sax" "Baritone Sax" "" \transpose ees, c' \new Staff << \form \bari >>
\part "Trumpet 1" "Trumpet 1" "Cup mute" \transpose bes c' \new Staff << \form \trumpetOne >>
\part "Trombone" "Trombone" "Cup mute" \new Staff << \clef bass \form \trombone >>
\part "Guitar" "Guitar" "" << \new ChordNames \guitarChanges \new Staff << \form \guitarComp >> >>
\part "Piano" "Piano" "" <<
  \new ChordNames \changes
  \new PianoStaff <<
    \new Staff << \form \pianoRight >>
    \new Staff << \clef bass \form \pianoLeft >>
  >>
>>
\part "Bass" "Bass" "" << \new ChordNames \bassChanges \new Staff << \clef bass \form \bassLine >> >>
\part "Drums" "Drums" "" \new DrumStaff << \form \drumPart >>
\sheet "Vocal" "Vocal" "Words and chords" \words
