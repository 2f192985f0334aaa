%% Half Past the Ferry: medium swing in F, 98 bars, A4.
\version "2.25.12"
\include "house.ily"
\include "half-past-the-ferry-horns.ily"
\include "half-past-the-ferry-rhythm.ily"

#(set-default-paper-size "a4")
#(set-global-staff-size (* 7.5 (/ 72.27 25.4)))

\header {
  title = "Half Past the Ferry"
  composer = "Nora Pettibone"
  arranger = "arr. I. Castellane"
}
\layout {
  \context { \Score rehearsalMarkFormatter = #format-mark-box-alphabet }
}

swingFeel = \markup \concat { "Medium swing " \fontsize #-2 { \rhythm { 8[ 8] } " = " \rhythm { \tuplet 3/2 { 4 8 } } } }

form = {
  \key f \major \time 4/4 \tempo \swingFeel 4 = 144
  s1*8
  \repeat volta 2 {
    \section \segnoMark 1
    s1*6
  } \alternative { s1*2 s1*2 }
  \bar "||" \section
  s1*8 \bar "||" \section
  s1*6 \jump \toCoda \bar "||"
  s1*2
  \repeat volta 2 {
    \section s1*16 \bar "||"
    \section s1*8 \bar "||"
    \section s1*8
  }
  \turn \section s1*16 \bar "||"
  \section s1*8 \jump "D.S. al Coda" \bar "||" \break
  \codaMark 1 s1*8 \bar "|."
}

six = \chordmode { f1:6 d:7 g:m7 c:7 a2:m7 d:7 g:m7 c:7 }
firstEnd = \chordmode { a2:m7 d:7.9- g:m7 c:7 }
secondEnd = \chordmode { f2:6 bes:7 f1:6 }
bridge = \chordmode { c1:m7 f:7 bes:maj7 bes:6 bes:m7 ees:7 a2:m7 d:7 g:m7 c:7 }
turnaround = \chordmode { f2:6 d:7 g:m7 c:7 }

soloChanges = { \six \firstEnd \six \secondEnd \bridge \six \turnaround }
changes = {
  \turnaround \turnaround \turnaround \turnaround
  \six \firstEnd \secondEnd
  \bridge
  \six \turnaround
  \soloChanges
  \six \firstEnd \six \secondEnd
  \chordmode { c1:m7 f:7 bes:6 b:dim7 f2:6/c d:7 g:m7 c:7 c1:7 c:7 }
  \chordmode { a2:m7 d:7 g:m7 c:7 a:m7 d:7 g:m7 c:7 a:m7 d:7 g:m7 c:7 f1:6 f:6 }
}

\part "01 Half Past the Ferry - 1st Alto" "1st Alto" "" \new Staff \transpose ees c' << \form \altoOne >>
\part "02 Half Past the Ferry - 2nd Alto" "2nd Alto" "" \new Staff \transpose ees c' << \form \altoTwo >>
\part "03 Half Past the Ferry - Tenor" "Tenor" "" \transpose bes, c' <<
  \new ChordNames { s1*32 \turnaround \soloChanges }
  \new Staff << \form \tenor >>
>>
\part "04 Half Past the Ferry - Baritone" "Baritone" "" \new Staff \transpose ees, c' << \form \bari >>
\part "05 Half Past the Ferry - 1st Trumpet" "1st Trumpet" "" \new Staff \transpose bes c' << \form \trumpetOne >>
\part "06 Half Past the Ferry - 2nd Trumpet" "2nd Trumpet" "" \new Staff \transpose bes c' << \form \trumpetTwo >>
\part "07 Half Past the Ferry - Trombone" "Trombone" "" \new Staff << \clef bass \form \trombone >>
\part "08 Half Past the Ferry - Guitar" "Guitar" "" << \new ChordNames \changes \new Staff << \form \guitarComp >> >>
\part "09 Half Past the Ferry - Piano" "Piano" "" <<
  \new ChordNames \changes
  \new PianoStaff <<
    \new Staff << \form \pianoRight >>
    \new Staff << \clef bass \form \pianoLeft >>
  >>
>>
\part "10 Half Past the Ferry - Bass" "Bass" "" << \new ChordNames \changes \new Staff << \clef bass \form \bassLine >> >>
\part "11 Half Past the Ferry - Drums" "Drums" "" \new DrumStaff << \form \drumPart >>
