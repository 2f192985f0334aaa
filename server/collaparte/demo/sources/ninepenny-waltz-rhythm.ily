%% Ninepenny Waltz: rhythm section.
\version "2.25.12"

pianoRight = \fixed c' {
  % Pickup
  r4 |
  % A, bars 1-20
  r4 <d f a c'>4-.\p <d f a c'>4-. | r4 <d f bes>2 | <ees g bes d'>4. <ees g bes d'>4. | r4 <ees g a d'>4-. r4 |
  r4 <f a c' e'>4-. <f a c' e'>4-. | r4 <f a b e'>2 | <ees g bes d'>4. <ees g bes d'>4. | r4 <ees g a d'>4-. r4 |
  r4 <d f a c'>4-. <d f a c'>4-. | r4 <d g aes c'>2 | <d g bes>4. <d g bes>4. | r4 <c ges bes>4-. r4 |
  r4 <f a c' e'>4-. <f a c' e'>4-. | r4 <f aes b d'>2 | <ees g bes d'>4. <ees g bes d'>4. | r4 <ees g a d'>4-. r4 |
  <ees g bes d'>4. <ees g bes d'>4. | r4 <ees g a d'>2 | r4 <d f g c'>4-. <d f g c'>4-. | <d f g c'>2 r4 |
  % B, bars 21-36
  <ees aes c'>2.\mp | r4 <d g aes c'>2 | r4 <d g bes>4-. <d g bes>4-. | <d g bes>2 r4 |
  <ees g c'>2. | r4 <ees fis a c'>2 | r4 <d f bes>4-. <d f bes>4-. | <d f bes>2 r4 |
  <ees g bes d'>2. | r4 <ees g bes d'>2 | r4 <ees g c'>4-. <ees g c'>4-. | <fis a c' e'>2 r4 |
  <d f bes>2. | r4 <e a bes d'>2 | r4 <ees g bes d'>4-. <ees g bes d'>4-. | <ees g a d'>2 r4 |
  % C, bars 37-52
  <d f a c'>4.\mf <d f a c'>4. | r4 <d f bes>2 | r4 <ees g bes d'>4-. <ees g bes d'>4-. | <ees g a d'>4. <ees g a d'>4. |
  <f a c' e'>4. <f a c' e'>4. | r4 <f a b e'>2 | r4 <ees g bes d'>4-. <ees g bes d'>4-. | <ees g a d'>4. <ees g a d'>4. |
  <d f a c'>4. <d f a c'>4. | r4 <d g aes c'>2 | r4 <d g bes>4-. <d g bes>4-. | <c ges bes>4. <c ges bes>4. |
  <ees g bes d'>4. <ees g bes d'>4. | r4 <ees g a d'>2 | r4 <d f g c'>4-. <d f g c'>4-. | <d f g c'>2 r4 |
  % D, bars 53-68: solos
  \slashes 16 3 |
  % E, bars 69-80: last time
  <ees g bes d'>4.\f <ees g bes d'>4. | r4 <ees g a d'>2 | r4 <f a c' e'>4-. <f a c' e'>4-. | r4 <f a b e'>2 |
  <ees g bes d'>4. <ees g bes d'>4. | r4 <ees g a d'>2 | r4 <d f a c'>4-. <d f a c'>4-. | r4 <d g bes>2 |
  <ees g bes d'>4. <ees g bes d'>4. | r4 <ees g bes>2 |
  <d f a c'>2. ~ | <d f a c'>2.\fermata |
}

pianoLeft = \fixed c {
  % Pickup
  r4 |
  % A, bars 1-20
  r4 <bes, f>4-. <bes, f>4-. | r4 <g, f>2 | <c bes>4. <c bes>4. | r4 <f, ees>4-. r4 |
  r4 <d c'>4-. <d c'>4-. | r4 <g, f>2 | <c bes>4. <c bes>4. | r4 <f, ees>4-. r4 |
  r4 <bes, f>4-. <bes, f>4-. | r4 <bes, aes>2 | <ees bes>4. <ees bes>4. | r4 <ees bes>4-. r4 |
  r4 <d c'>4-. <d c'>4-. | r4 <g, f>2 | <c bes>4. <c bes>4. | r4 <f, ees>4-. r4 |
  <c bes>4. <c bes>4. | r4 <f, ees>2 | r4 <bes, f>4-. <bes, f>4-. | <bes, f>2 r4 |
  % B, bars 21-36
  <f, c>2. | r4 <bes, aes>2 | r4 <ees bes>4-. <ees bes>4-. | <ees bes>2 r4 |
  <a, g>2. | r4 <d c'>2 | r4 <g, f>4-. <g, f>4-. | <g, f>2 r4 |
  <c bes>2. | r4 <c bes>2 | r4 <a, g>4-. <a, g>4-. | <d c'>2 r4 |
  <g, f>2. | r4 <c bes>2 | r4 <c bes>4-. <c bes>4-. | <f, ees>2 r4 |
  % C, bars 37-52
  <bes, f>4. <bes, f>4. | r4 <g, f>2 | r4 <c bes>4-. <c bes>4-. | <f, ees>4. <f, ees>4. |
  <d c'>4. <d c'>4. | r4 <g, f>2 | r4 <c bes>4-. <c bes>4-. | <f, ees>4. <f, ees>4. |
  <bes, f>4. <bes, f>4. | r4 <bes, aes>2 | r4 <ees bes>4-. <ees bes>4-. | <ees bes>4. <ees bes>4. |
  <c bes>4. <c bes>4. | r4 <f, ees>2 | r4 <bes, f>4-. <bes, f>4-. | <bes, f>2 r4 |
  % D, bars 53-68: solos
  \slashes 16 3 |
  % E, bars 69-80: last time
  <c bes>4. <c bes>4. | r4 <f, ees>2 | r4 <d c'>4-. <d c'>4-. | r4 <g, f>2 |
  <c bes>4. <c bes>4. | r4 <f, ees>2 | r4 <bes, f>4-. <bes, f>4-. | r4 <ees bes>2 |
  <c bes>4. <c bes>4. | r4 <f, c>2 |
  <bes, f>2. ~ | <bes, f>2.\fermata |
}

bassLine = \fixed c {
  r4 |
  % A, bars 1-20
  bes,2\p f4 | g,2 d4 | c2 g4 | f2 c4 |
  d2 a4 | g2 b,4 | c2 ees4 | f,2 a,4 |
  bes,2 f4 | aes2 f4 | ees2 bes4 | ees2 ges4 |
  d2 a4 | g,4 b, d | c2 g4 | f,4 a, c |
  c4 d ees | f4 ees c | bes,2. ~ | bes,2 r4 |
  % B, bars 21-36
  f2\mp c4 | bes,4 d f | ees2 bes4 | ees4 g bes |
  a2 ees4 | d4 fis a | g2 d4 | g4 f d |
  c2 g4 | bes2 g4 | a2 ees4 | d4 c a, |
  g,2 d4 | c4 e g | c4 d ees | f,4 a, c |
  % C, bars 37-52
  bes,4\mf d f | g4 f d | c4 ees g | f4 ees c |
  d4 f a | g4 f d | c4 d ees | f4 c a, |
  bes,4 c d | aes4 f d | ees4 g bes | ees4 ges bes |
  c4 d ees | f4 ees c | bes,2. ~ | bes,2 r4 |
  % D, bars 53-68: solos
  \slashes 16 3 |
  % E, bars 69-80: last time
  c2\f g4 | f2 c4 | d2 a4 | g2 b,4 |
  c2 ees4 | f2 a,4 | bes,2 f4 | ees2 bes,4 |
  c2\mp g4 | f,2 c4 | bes,2. ~ | bes,2.\fermata |
}

guitarComp = \fixed c' {
  r4 |
  % A, bars 1-20
  R2.*8 |
  \slashes 12 3 |
  % B, bars 21-36
  \slashes 16 3 |
  % C, bars 37-52
  \slashes 14 3 | \rhythm { b2. ~ | b2 r4 } |
  % D, bars 53-68: solos
  \slashes 16 3 |
  % E, bars 69-80: last time
  \slashes 10 3 | \rhythm { b2. ~ | b2.\fermata } |
}

waltzTime = \drummode { << { cymr4 cymr8 cymr cymr4 } \\ { bd4 hhp hhp } >> | }
brushes = \drummode { << { sn4 sn8 sn sn4 } \\ { bd4 hhp hhp } >> | }

drumPart = \drummode {
  r4 |
  % A, bars 1-20
  << { s2.\p\cue "Brushes" } \brushes >> \repeat percent 11 \brushes
  \repeat percent 4 \brushes
  \repeat percent 3 \brushes
  sn4 sn8 sn sn4\cue "to sticks" |
  % B, bars 21-36
  \repeat percent 8 \waltzTime \repeat percent 7 \waltzTime
  sn4 sn8 toml toml4 |
  % C, bars 37-52
  \repeat percent 12 \waltzTime \repeat percent 2 \waltzTime
  cymc4-> sn8 sn toml4 | bd2 r4 |
  % D, bars 53-68: solos
  \repeat percent 16 \waltzTime
  % E, bars 69-80: last time
  \repeat percent 6 \waltzTime
  \repeat percent 4 \waltzTime
  cymr2. ~ | cymr2.\fermata |
}
