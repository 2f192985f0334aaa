%% Half Past the Ferry: rhythm section.
\version "2.25.12"

pianoRight = \fixed c' {
  % Intro, bars 1-8
  r4 <g c' f'>8-.\mf r8 r4 <e a d'>8-. r8 | r4 <d f a>8-. <d g a>8-> ~ <d g a>4 r4 |
  r4 <g c' f'>8-. r8 r4 <e a d'>8-. r8 | r4 <d f a>8-. <d g a>8-> ~ <d g a>4 r4 |
  r4 <g c' f'>8-. r8 r4 <e a d'>8-. r8 | r4 <d f a>8-. <d g a>8-> ~ <d g a>4 r4 |
  r4 <g c' f'>8-. r8 r4 <e a d'>8-. r8 | r4 <d f a>8-. <d g a>8-> ~ <d g a>4 r4 |
  % A, bars 9-18
  <g c' f'>4. <g c' f'>8 ~ <g c' f'>2 | r4 <e a d'>8-. r8 r4 <e a d'>4-. |
  r4 r8 <d f a>8 ~ <d f a>2 | <d g a>4-. r8 <d g a>8-> ~ <d g a>4 r4 |
  r4 <e g b>4-. r8 <e a d'>4. | <d f a>8-. r8 r8 <d g a>8-> ~ <d g a>2 |
  r4 <e g b>4-. r4 <ees a c'>4-. | r4 <d f a>8-. r8 r8 <d g a>4.-> |
  <g c' f'>4-. r8 <c g bes>8-> ~ <c g bes>2 | <g c' f'>2-> r2 |
  % B, bars 19-26
  <d g bes>2.\mp r4 | r2 r8 <d g c'>8-. <d g c'>4-. |
  <c f a>2. r4 | r2 r8 <c f g>8-. <c f g>4-. |
  <c f aes>2. r4 | r2 r8 <c f bes>8-. <c f bes>4-. |
  <e g b>2 <e a d'>2 | <d f a>4-. r8 <d g a>8-> ~ <d g a>4 r4 |
  % C, bars 27-34
  <g c' f'>4. <g c' f'>8 ~ <g c' f'>2 | r4 <e a d'>8-. r8 r4 <e a d'>4-. |
  r4 r8 <d f a>8 ~ <d f a>2 | <d g a>4-. r8 <d g a>8-> ~ <d g a>4 r4 |
  r4 <e g b>4-. r8 <e a d'>4. | <d f a>8-. r8 r8 <d g a>8-> ~ <d g a>2 |
  <g c' f'>4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  \slashLine 8 4 | \slashLine 8 4 |
  % E, bars 51-58
  \slashLine 8 4 |
  % F, bars 59-66
  \slashLine 8 4 |
  % G, bars 67-82: shout
  <g c' f'>4-^\f r8 <g c' f'>8-> ~ <g c' f'>2 | r4 r8 <e a d'>8-> ~ <e a d'>2 |
  <d f a>4-^ r8 <d f a>8-> ~ <d f a>2 | r4 r8 <d g a>8-> ~ <d g a>2 |
  <e g b>4-. <e g b>8-. <e a d'>8-> r8 <e a d'>4.-> | <d f a>4-. <d f a>8-. <d g a>8-> r8 <d g a>4.-> |
  <e g b>4-^ r4 r8 <ees a c'>8-. <ees a c'>4-. | <d f a>8-. <d f a>4-> <d g a>8 ~ <d g a>4 r4 |
  <g c' f'>4-^ r8 <g c' f'>8-> ~ <g c' f'>2 | r4 r8 <e a d'>8-> ~ <e a d'>2 |
  <d f a>4-^ r8 <d f a>8-> ~ <d f a>2 | r4 r8 <d g a>8-> ~ <d g a>2 |
  <e g b>4-. <e g b>8-. <e a d'>8-> r8 <e a d'>4.-> | <d f a>4-. <d f a>8-. <d g a>8-> r8 <d g a>4.-> |
  <g c' f'>4-^ r4 r8 <c g bes>4.-> | <g c' f'>4-^ r4 r2 |
  % H, bars 83-90
  <d g bes>2. r4 | r2 r8 <d g c'>8-> ~ <d g c'>4 |
  <c f g>2. r4 | r2 r8 <d f aes>8-> ~ <d f aes>4 |
  <g c' f'>4-> <g c' f'>8-. <e a d'>8-> r8 <e a d'>4.-> | <d f a>4-> <d f a>8-. <d g a>8-> r8 <d g a>4.-> |
  <d g a>4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  r4 <e g b>4-. r8 <e a d'>4. | <d f a>8-. r8 r8 <d g a>8-> ~ <d g a>4 <d g a>4-. |
  r4 <e g b>4-. r8 <e a d'>4. | <d f a>8-. r8 r8 <d g a>8-> ~ <d g a>4 <d g a>4-. |
  r4 <e g b>4-. r8 <e a d'>4. | <d f a>8-. r8 r8 <d g a>8-> ~ <d g a>4 <d g a>4-. |
  <g c' f'>4-. r8 c''8 f''8 d'' c''16( d'' c'' a') | g'8 f' r8 <g c' f'>8-^ r2 |
}

pianoLeft = \fixed c {
  % Intro, bars 1-8
  r4 <a d'>8-. r8 r4 <fis c'>8-. r8 | r4 <f bes>8-. <e bes>8-> ~ <e bes>4 r4 |
  r4 <a d'>8-. r8 r4 <fis c'>8-. r8 | r4 <f bes>8-. <e bes>8-> ~ <e bes>4 r4 |
  r4 <a d'>8-. r8 r4 <fis c'>8-. r8 | r4 <f bes>8-. <e bes>8-> ~ <e bes>4 r4 |
  r4 <a d'>8-. r8 r4 <fis c'>8-. r8 | r4 <f bes>8-. <e bes>8-> ~ <e bes>4 r4 |
  % A, bars 9-18
  <a d'>4. <a d'>8 ~ <a d'>2 | r4 <fis c'>8-. r8 r4 <fis c'>4-. |
  r4 r8 <f bes>8 ~ <f bes>2 | <e bes>4-. r8 <e bes>8-> ~ <e bes>4 r4 |
  r4 <g c'>4-. r8 <fis c'>4. | <f bes>8-. r8 r8 <e bes>8-> ~ <e bes>2 |
  r4 <g c'>4-. r4 <fis c'>4-. | r4 <f bes>8-. r8 r8 <e bes>4.-> |
  <a d'>4-. r8 <d aes>8-> ~ <d aes>2 | <a d'>2-> r2 |
  % B, bars 19-26
  <ees bes>2. r4 | r2 r8 <ees a>8-. <ees a>4-. |
  <d a>2. r4 | r2 r8 <d g>8-. <d g>4-. |
  <des aes>2. r4 | r2 r8 <des g>8-. <des g>4-. |
  <g c'>2 <fis c'>2 | <f bes>4-. r8 <e bes>8-> ~ <e bes>4 r4 |
  % C, bars 27-34
  <a d'>4. <a d'>8 ~ <a d'>2 | r4 <fis c'>8-. r8 r4 <fis c'>4-. |
  r4 r8 <f bes>8 ~ <f bes>2 | <e bes>4-. r8 <e bes>8-> ~ <e bes>4 r4 |
  r4 <g c'>4-. r8 <fis c'>4. | <f bes>8-. r8 r8 <e bes>8-> ~ <e bes>2 |
  <a d'>4-^ r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  \slashes 16 4 |
  % E, bars 51-58
  \slashes 8 4 |
  % F, bars 59-66
  \slashes 8 4 |
  % G, bars 67-82: shout
  <a d'>4-^ r8 <a d'>8-> ~ <a d'>2 | r4 r8 <fis c'>8-> ~ <fis c'>2 |
  <f bes>4-^ r8 <f bes>8-> ~ <f bes>2 | r4 r8 <e bes>8-> ~ <e bes>2 |
  <g c'>4-. <g c'>8-. <fis c'>8-> r8 <fis c'>4.-> | <f bes>4-. <f bes>8-. <e bes>8-> r8 <e bes>4.-> |
  <g c'>4-^ r4 r8 <fis c'>8-. <fis c'>4-. | <f bes>8-. <f bes>4-> <e bes>8 ~ <e bes>4 r4 |
  <a d'>4-^ r8 <a d'>8-> ~ <a d'>2 | r4 r8 <fis c'>8-> ~ <fis c'>2 |
  <f bes>4-^ r8 <f bes>8-> ~ <f bes>2 | r4 r8 <e bes>8-> ~ <e bes>2 |
  <g c'>4-. <g c'>8-. <fis c'>8-> r8 <fis c'>4.-> | <f bes>4-. <f bes>8-. <e bes>8-> r8 <e bes>4.-> |
  <a d'>4-^ r4 r8 <d aes>4.-> | <a d'>4-^ r4 r2 |
  % H, bars 83-90
  <ees bes>2. r4 | r2 r8 <ees a>8-> ~ <ees a>4 |
  <d g>2. r4 | r2 r8 <f b>8-> ~ <f b>4 |
  <a d'>4-> <a d'>8-. <fis c'>8-> r8 <fis c'>4.-> | <f bes>4-> <f bes>8-. <e bes>8-> r8 <e bes>4.-> |
  <e bes>4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  r4 <g c'>4-. r8 <fis c'>4. | <f bes>8-. r8 r8 <e bes>8-> ~ <e bes>4 <e bes>4-. |
  r4 <g c'>4-. r8 <fis c'>4. | <f bes>8-. r8 r8 <e bes>8-> ~ <e bes>4 <e bes>4-. |
  r4 <g c'>4-. r8 <fis c'>4. | <f bes>8-. r8 r8 <e bes>8-> ~ <e bes>4 <e bes>4-. |
  <a d'>4-. r4 r2 | r4 r8 <a d'>8-^ r2 |
}

bassLine = \fixed c {
  % Intro, bars 1-8
  f4\mf c d a, | g,4 d c e, | f4 c d fis | g4 d c e, |
  f4 c d a, | g,4 d c e, | f4 c d fis | g4 d c-^ r4 |
  % A, bars 9-18
  f,4 a, c cis | d4 c a, fis, | g,4 bes, a, b, | c4 bes, g, gis, |
  a,4 e d aes, | g,4 d c e |
  a,4 c d fis | g4 d c e, |
  f,4 c bes, d | f2-> r4 b,4 |
  % B, bars 19-26
  c4 d ees g | f4 ees c a, | bes,4 d f a | g4 f d a, |
  bes,4 des f aes | ees4 g des bes, | a,4 c d fis | g4 d c e, |
  % C, bars 27-34
  f,4 g, a, cis | d4 fis a d | g4 f d b, | c4 d e gis, |
  a,4 e d aes, | g,4 d c e, |
  f,4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  \slashes 16 4 |
  % E, bars 51-58
  \slashes 8 4 |
  % F, bars 59-66
  \slashes 8 4 |
  % G, bars 67-82: shout
  f4\f c a, cis | d4 a, d fis | g4 f d b, | c4 e g gis, |
  a,4 c d aes, | g,4 d c e | a,4 c d fis | g4 d c e, |
  f4 c a, cis | d4 a, d fis | g4 f d b, | c4 e g gis, |
  a,4 c d aes, | g,4 d c e, | f,4 c bes, d | f4-^ r4 r2 |
  % H, bars 83-90
  c4 d ees g | f4 ees c a, | bes,4 c d bes, | b,4 d f b, |
  c4 a, d fis | g4 d c e, | c4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  a,4\f e d aes, | g,4 d c e | a,4 c d fis | g4 d c gis, |
  a,4 e d aes, | g,4 d c e, | f,4-. r4 r2 | r4 r8 f,8-^ r2 |
}

guitarComp = \fixed c' {
  % Intro, A and B, bars 1-26
  \slashes 26 4 |
  % C, bars 27-34
  \slashes 6 4 |
  \rhythm { b4-^\f r4 r2 } | R1 |
  % D, E and F, bars 35-66: tenor solo
  \slashes 32 4 |
  % G, bars 67-82: shout
  \slashes 6 4 |
  \rhythm { b4-^\f r4 r8 b8-. b4-. | b8-. b4-> b8 ~ b4 r4 } |
  \slashes 6 4 |
  \rhythm { b4-^ r4 r8 b4.-> | b4-^ r4 r2 } |
  % H, bars 83-90
  \slashes 4 4 |
  \rhythm { b4-> b8-. b8-> r8 b4.-> | b4-> b8-. b8-> r8 b4.-> | b4-^ r4 r2 } | R1 |
  % Coda, bars 91-98
  \slashes 6 4 |
  \rhythm { b4-. r4 r2 | r4 r8 b8-^ r2 } |
}

swing = \drummode { << { cymr4 cymr8 cymr cymr4 cymr8 cymr } \\ { bd4 hhp bd hhp } >> }
hats = \drummode { << { hh4 hh8 hh hh4 hh8 hh } \\ { bd4 s bd s } >> }
kicks = \drummode {
  << { cymc4-^ cymr8 cymc-> cymr4 cymr8 cymc-> } \\ { bd4 hhp8 bd r4 hhp8 bd } >> |
  << { cymr4 cymr8 cymc-> cymr4 cymr8 cymr } \\ { r4 hhp8 bd r4 hhp } >> |
}
punches = \drummode {
  << { cymr4 sn8-. sn-> cymr cymc4.-> } \\ { bd4 hhp r8 bd4. } >> |
}

drumPart = \drummode {
  % Intro, bars 1-8
  \repeat percent 7 \hats | hh8 sn4-> sn8 cymc4-^ r4 |
  % A, bars 9-18
  \repeat percent 6 \swing |
  \swing | sn4-. sn-. r8 cymc4.-> |
  \swing | sn2-> r8 sn8 toml4 |
  % B, bars 19-26
  \repeat percent 7 \swing | cymr8 cymr4 sn8-> ~ sn8 tomh toml4 |
  % C, bars 27-34
  \repeat percent 6 \swing |
  cymc4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  \repeat percent 16 \swing |
  % E, bars 51-58
  \repeat percent 8 \swing |
  % F, bars 59-66
  \repeat percent 7 \swing | sn8 sn toml toml bd sn-> cymc4-^ |
  % G, bars 67-82: shout
  \kicks \kicks \punches \punches |
  cymc4-^ sn8 sn tomh cymc-> cymc4-> | sn8 cymc4-> sn8 toml4 bd |
  \kicks \kicks \punches | << { cymr8 cymc4-> cymc8-> ~ cymc4 cymr8 cymr } \\ { bd8 bd4 bd8 ~ bd4 hhp } >> |
  cymc4-^ sn8 toml bd cymc4.-> | cymc4-^ r4 r2 |
  % H, bars 83-90
  \swing | << { cymr4 cymr8 cymr cymr cymc4.-> } \\ { bd4 hhp r8 bd4. } >> |
  \swing | << { cymr4 cymr8 cymr cymr cymc4.-> } \\ { bd4 hhp r8 bd4. } >> |
  \punches \punches |
  cymc4-^ \omit Stem slash4\cue "Fill" slash slash | \undo \omit Stem \drumSlashes 1 4 |
  % Coda, bars 91-98
  \repeat percent 5 \swing |
  << { cymr4 cymr8 sn-> cymr4 sn-> } \\ { bd4 hhp bd hhp } >> |
  cymc4-. r4 r2 | r4 r8 cymc8-^ r2 |
}
