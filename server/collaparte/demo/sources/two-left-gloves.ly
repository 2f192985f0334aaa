%% Two Left Gloves: funk in D minor, 72 bars, Letter, numbered marks.
\version "2.25.12"
\include "house.ily"
\include "two-left-gloves-horns.ily"
\include "two-left-gloves-rhythm.ily"

#(set-default-paper-size "letter")
#(set-global-staff-size (* 7.2 (/ 72.27 25.4)))

\header {
  title = "Two Left Gloves"
  composer = "Dez Haverling"
  arranger = "arr. the band"
}
\paper { property-defaults.fonts.serif = "Nimbus Sans" }
\layout {
  \context {
    \Score
    rehearsalMarkFormatter = #format-mark-box-numbers
    \override SpacingSpanner.shortest-duration-space = #2
  }
}

form = {
  \key d \minor \time 4/4 \tempo "Funk, sixteenths straight" 4 = 100
  \section s1*8
  \repeat volta 2 {
    \section s1*4 \phrase s1*2
  } \alternative { s1*2 s1*2 }
  \bar "||" \section s1*4 \phrase s1*4
  \bar "||" \section s1*4 \phrase s1*4
  \repeat volta 2 { \section s1*4 \phrase s1*4 }
  \repeat volta 2 { \section s1*4 \phrase s1*4 }
  \section s1*4 \bar "||" s1*4
  \bar "||" \section s1*4 \phrase s1*4
  \bar "||" \section s1*6 \bar "|."
}

vamp = \chordmode { d1:m7 d2:m7 g:9 }
head = { \vamp \vamp \chordmode { bes1:maj7 a:m7 } }
headEnd = \chordmode { g2:m7 a:7.9+ d1:m7 }
bridge = \chordmode { bes1:maj7 c:7 a:m7 d:m7 g:m7 c:7 f:maj7 e2:m7.5- a:7.9+ }
eight = { \vamp \vamp \vamp \vamp }
fromHead = {
  \head \chordmode { g1:m7 a:7.9+ } \headEnd
  \bridge
  \head \headEnd
  \eight \eight
}
fromBuild = {
  \vamp \chordmode { d1:m7 a:7.9+ }
  \head \headEnd
  \headEnd \headEnd \chordmode { bes2:maj7 a:7.9+ d1:m7 }
}
bassChanges = { \eight \fromHead \vamp \vamp \fromBuild }
keysChanges = { \eight \fromHead s1*4 \fromBuild }
guitarChanges = { s1*4 \vamp \vamp \fromHead s1*4 \fromBuild }
soloChanges = { s1*34 \eight }

\part "Two_Left_Gloves_ASax1" "Alto Sax 1" "" \transpose ees c' << \new ChordNames \soloChanges \new Staff << \form \altoOne >> >>
\part "Two_Left_Gloves_ASax2" "Alto Sax 2" "" \transpose ees c' << \new ChordNames \soloChanges \new Staff << \form \altoTwo >> >>
\part "Two_Left_Gloves_TSax" "Tenor Sax" "" \transpose bes, c' << \new ChordNames \soloChanges \new Staff << \form \tenor >> >>
\part "Two_Left_Gloves_BSax" "Baritone Sax" "" \transpose ees, c' << \new ChordNames \soloChanges \new Staff << \form \bari >> >>
\part "Two_Left_Gloves_Tpt1" "Trumpet 1 in B♭" "" \transpose bes c' << \new ChordNames \soloChanges \new Staff << \form \trumpetOne >> >>
\part "Two_Left_Gloves_Tpt2" "Trumpet 2 in B♭" "" \transpose bes c' << \new ChordNames \soloChanges \new Staff << \form \trumpetTwo >> >>
\part "Two_Left_Gloves_Tbn" "Trombone" "" << \new ChordNames \soloChanges \new Staff << \clef bass \form \trombone >> >>
\part "Two_Left_Gloves_Gtr" "Guitar" "" << \new ChordNames \guitarChanges \new Staff << \form \guitarComp >> >>
\part "Two_Left_Gloves_Keys" "Keys" "" <<
  \new ChordNames \keysChanges
  \new PianoStaff <<
    \new Staff << \form \keysRight >>
    \new Staff << \clef bass \form \keysLeft >>
  >>
>>
\part "Two_Left_Gloves_Bass" "Bass" "" << \new ChordNames \bassChanges \new Staff << \clef bass \form \bassLine >> >>
\part "Two_Left_Gloves_Drs" "Drums" "" \new DrumStaff << \form \drumPart >>
