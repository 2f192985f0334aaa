%% Two Left Gloves: rhythm section.
\version "2.25.12"

keysRight = \fixed c' {
  % 1, bars 1-8: the groove
  <f a c' e'>8->\mf r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <f a c' e'>8-> r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <f a c' e'>8-> r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <f a c' e'>8-> r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  % 2, bars 9-18: head
  <f a c' e'>8->\f r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <f a c' e'>8-> r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <d f a c'>4. <d f a c'>8 ~ <d f a c'>4 r4 | <e g b c'>4. <e g b c'>8 ~ <e g b c'>4 r4 |
  <d f a bes>8-. r8 <d f a bes>8-. r8 <d f a bes>8-. r8 <d f a bes>8-. r8 | <cis g c'>8-> r8 r4 r4 <cis g c'>8-. r8 |
  <d f a bes>8-. r8 <d f a bes>8-. r8 <cis g c'>8-> r8 <cis g c'>8-> r8 | <f a c' e'>8-^ r8 r4 r2 |
  % 3, bars 19-26
  <d f a c'>4.\mp <d f a c'>8 ~ <d f a c'>8 r8 <d f a c'>4-. | <e a bes d'>4. <e a bes d'>8 ~ <e a bes d'>2 |
  <e g b c'>4. <e g b c'>8 ~ <e g b c'>8 r8 <e g b c'>4-. | <f a c' e'>4. <f a c' e'>8 ~ <f a c' e'>2 |
  <d f a bes>4. <d f a bes>8 ~ <d f a bes>8 r8 <d f a bes>4-. | <e a bes d'>4. <e a bes d'>8 ~ <e a bes d'>2 |
  <e g a c'>4. <e g a c'>8 ~ <e g a c'>8 r8 <e g a c'>4-. |
  <d g bes>8-. r8 <d g bes>8-. r8 <cis g c'>4-> r4 |
  % 4, bars 27-34: head
  <f a c' e'>8->\f r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <f a c' e'>8-> r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <d f a c'>4. <d f a c'>8 ~ <d f a c'>4 r4 | <e g b c'>4. <e g b c'>8 ~ <e g b c'>4 r4 |
  <d f a bes>8-. r8 <d f a bes>8-. r8 <cis g c'>8-> r8 <cis g c'>8-> r8 | <f a c' e'>8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  \slashes 8 4 |
  % 7, bars 51-58: breakdown
  R1*4 |
  r1 | r8 <f a c' e'>16-.\mp <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <f a c' e'>8-> r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. |
  r2 <cis g c'>8-^\f r8 r4 |
  % 8, bars 59-66: head
  <f a c' e'>8->\ff r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <f a c' e'>8-> r8 r8 <f a c' e'>16 <f a c' e'>16 ~ <f a c' e'>8 r8 r8 <f a c' e'>8-. | r8 <f a c' e'>16-. <f a c' e'>16-. r4 r8 <f a b e'>8-> ~ <f a b e'>4 |
  <d f a c'>4. <d f a c'>8 ~ <d f a c'>4 r4 | <e g b c'>4. <e g b c'>8 ~ <e g b c'>4 r4 |
  <d f a bes>8-. r8 <d f a bes>8-. r8 <cis g c'>8-> r8 <cis g c'>8-> r8 | <f a c' e'>8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  <d f a bes>8-. r8 <d f a bes>8-. r8 <cis g c'>8-> r8 <cis g c'>8-> r8 | <f a c' e'>8-^ r8 r4 r2 |
  <d f a bes>8-. r8 <d f a bes>8-. r8 <cis g c'>8-> r8 <cis g c'>8-> r8 | <f a c' e'>8-^ r8 r4 r2 |
  <d f a c'>8-. <d f a c'>16-. <d f a c'>16-. r8 <cis g c'>8-> ~ <cis g c'>4 <cis g c'>4-> | <f a c' e'>16-. <f a c' e'>16-. r8 r8 <f a c' e'>8-^ r2 |
}

keysLeft = \fixed c {
  % 1, bars 1-8: the groove
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  % 2, bars 9-18: head
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <bes, f>4. <bes, f>8 ~ <bes, f>4 r4 | <a, e>4. <a, e>8 ~ <a, e>4 r4 |
  <g, d>8-. r8 <g, d>8-. r8 <g, d>8-. r8 <g, d>8-. r8 | <a, e>8-> r8 r4 r4 <a, e>8-. r8 |
  <g, d>8-. r8 <g, d>8-. r8 <a, e>8-> r8 <a, e>8-> r8 | <d a>8-^ r8 r4 r2 |
  % 3, bars 19-26
  <bes, f>4. <bes, f>8 ~ <bes, f>8 r8 <bes, f>4-. | <c g>4. <c g>8 ~ <c g>2 |
  <a, e>4. <a, e>8 ~ <a, e>8 r8 <a, e>4-. | <d a>4. <d a>8 ~ <d a>2 |
  <g, d>4. <g, d>8 ~ <g, d>8 r8 <g, d>4-. | <c g>4. <c g>8 ~ <c g>2 |
  <f c'>4. <f c'>8 ~ <f c'>8 r8 <f c'>4-. |
  <e bes>8-. r8 <e bes>8-. r8 <a, e>4-> r4 |
  % 4, bars 27-34: head
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <bes, f>4. <bes, f>8 ~ <bes, f>4 r4 | <a, e>4. <a, e>8 ~ <a, e>4 r4 |
  <g, d>8-. r8 <g, d>8-. r8 <a, e>8-> r8 <a, e>8-> r8 | <d a>8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  \slashes 8 4 |
  % 7, bars 51-58: breakdown
  R1*4 |
  r1 | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. |
  r2 <a, e>8-^ r8 r4 |
  % 8, bars 59-66: head
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <d a>8-> r8 r8 <d a>16 <d a>16 ~ <d a>8 r8 r8 <d a>8-. | r8 <d a>16-. <d a>16-. r4 r8 <g d'>8-> ~ <g d'>4 |
  <bes, f>4. <bes, f>8 ~ <bes, f>4 r4 | <a, e>4. <a, e>8 ~ <a, e>4 r4 |
  <g, d>8-. r8 <g, d>8-. r8 <a, e>8-> r8 <a, e>8-> r8 | <d a>8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  <g, d>8-. r8 <g, d>8-. r8 <a, e>8-> r8 <a, e>8-> r8 | <d a>8-^ r8 r4 r2 |
  <g, d>8-. r8 <g, d>8-. r8 <a, e>8-> r8 <a, e>8-> r8 | <d a>8-^ r8 r4 r2 |
  <bes, f>8-. <bes, f>16-. <bes, f>16-. r8 <a, e>8-> ~ <a, e>4 <a, e>4-> | <d a>16-. <d a>16-. r8 r8 <d a>8-^ r2 |
}

%% The bass riff: D minor to G9, then the walk up from B flat.
riffA = \fixed c { d8-> r16 d16 r8 c16 d r8 f16 d c8 a, | }
riffB = \fixed c { d8-> r16 d16 r8 c16 d g,8-. r16 g,16 r8 b,8 | }
riffBflat = \fixed c {
  bes,8-> r16 bes,16 r8 f16 bes, ~ bes,8 a,16 f, bes,8 r8 |
  a,8-> r16 a,16 r8 e16 a, ~ a,8 g,16 e, a,8 r8 |
}
bassHead = { \riffA \riffB \riffA \riffB \riffBflat }
bassEnd = \fixed c { g,8-. r8 g,8-. r8 a,8-> r8 a,8-> r8 | d8-^ r8 r4 r8 a,16 c d8 r8 | }

bassLine = \fixed c {
  % 1, bars 1-8: the groove
  << { s1\f } \riffA >> \riffB \riffA \riffB \riffA \riffB \riffA \riffB
  % 2, bars 9-18: head
  \bassHead
  g,8-. r8 bes,8-. r8 d8-. r8 f8-. r8 | e8-> r8 r4 a,8-. a,16 a, cis8 e8 |
  \bassEnd
  % 3, bars 19-26
  bes,4.\mf bes,8 r8 f8 bes8 a | c4. c8 r8 g8 bes8 g |
  a,4. a,8 r8 e8 a8 g | d4. d8 r8 a,8 c8 cis |
  g,4. g,8 r8 d8 f8 d | c4. c8 r8 g8 bes8 g |
  f4. f8 r8 c8 a,8 f, | e,8-. r8 e,8-. r8 a,4-> r4 |
  % 4, bars 27-34: head
  << { s1\f } \riffA >> \riffB \riffA \riffB \riffBflat \bassEnd
  % 5, bars 35-42: solos, open
  \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  \slashes 8 4 |
  % 7, bars 51-58: breakdown
  << { s1\mp } \riffA >> \riffB \riffA \riffB \riffA \riffB \riffA
  r2 a,8-^\f r8 a,16 b, cis8 |
  % 8, bars 59-66: head
  << { s1\ff } \riffA >> \riffB \riffA \riffB \riffBflat \bassEnd
  % 9, bars 67-72: tag
  \bassEnd \bassEnd
  bes,8-. bes,16-. bes,16-. r8 bes,8-> ~ bes,4 a,4-> | d16-. d16-. r8 r8 d8-^ r2 |
}

scratchA = { r8 b16-. b-. r8 b16 b r8 b16-. b-. r8 b8-. | }
scratchB = { r8 b16-. b-. r8 b16 b r8 b8-> ~ b4 | }
hitsEnd = { b8-. r8 b8-. r8 b8-> r8 b8-> r8 | b8-^ r8 r4 r2 | }

guitarComp = \fixed c' {
  % 1, bars 1-8: the groove
  R1*4 |
  \rhythm { << { s1\mf } \scratchA >> \scratchB } \slashes 2 4 |
  % 2, bars 9-18: head
  \rhythm { << { s1\f } \scratchA >> \scratchB } \slashes 4 4 |
  \rhythm { b8-. r8 b8-. r8 b8-. r8 b8-. r8 | b8-> r8 r4 r2 | \hitsEnd }
  % 3, bars 19-26
  \slashes 7 4 |
  \rhythm { b8-. r8 b8-. r8 b4-> r4 | }
  % 4, bars 27-34: head
  \rhythm { \scratchA \scratchB } \slashes 4 4 |
  \rhythm \hitsEnd
  % 5, bars 35-42: solos, open
  \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  \slashes 8 4 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  \rhythm { << { s1\p } \scratchA >> \scratchB << { s1\< } \scratchA >> r2 b8-^\f r8 r4 | }
  % 8, bars 59-66: head
  \rhythm { << { s1\ff } \scratchA >> \scratchB } \slashes 4 4 |
  \rhythm \hitsEnd
  % 9, bars 67-72: tag
  \rhythm {
    \hitsEnd \hitsEnd
    b8-. b16-. b16-. r8 b8-> ~ b4 b4-> | b16-. b16-. r8 r8 b8-^ r2 |
  }
}

funk = \drummode { << { hh8 hh <sn hh>-> hh hh hh <sn hh>-> hh } \\ { bd8. bd16 r4 r8 bd8 r4 } >> | }
fill = \drummode { << { hh8 hh <sn hh>-> hh sn16 sn tomh tomh toml8 toml } \\ { bd8. bd16 r4 r8 bd8 r4 } >> | }
stops = \drummode { cymc8-. r8 cymc8-. r8 cymc8-> r8 cymc8-> r8 | cymc8-^ r8 sn16 sn tomh tomh toml toml toml toml bd8 r8 | }

drumPart = \drummode {
  % 1, bars 1-8: the groove
  \repeat percent 7 \funk \fill
  % 2, bars 9-18: head
  \repeat percent 6 \funk
  cymc8-. r8 sn8-. r8 cymc8-. r8 sn8-. r8 | cymc8-> r8 r4 sn16 sn sn sn toml8 r8 |
  \stops
  % 3, bars 19-26
  \repeat percent 7 \funk
  cymc8-. r8 cymc8-. r8 cymc4-> sn16 sn toml toml |
  % 4, bars 27-34: head
  \repeat percent 6 \funk
  \stops
  % 5, bars 35-42: solos, open
  \repeat percent 8 \funk
  % 6, bars 43-50: backgrounds on cue
  \repeat percent 7 \funk \fill
  % 7, bars 51-58: breakdown
  \repeat percent 4 \funk
  \repeat percent 3 \funk
  sn16\< sn sn sn sn sn sn sn cymc8-^\! r8 sn16 sn toml toml |
  % 8, bars 59-66: head
  \repeat percent 6 \funk
  \stops
  % 9, bars 67-72: tag
  \stops \stops
  cymc8-. sn16 sn r8 cymc8-> ~ cymc4 cymc4-> | sn16-. sn-. r8 r8 cymc8-^ r2 |
}
