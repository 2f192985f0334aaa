%% The Lamp You Left On: rhythm section.
\version "2.25.12"

pianoRight = \fixed c' {
  % Intro, bars 1-4
  r8 g8(\p bes d' g'2) | r8 ees8( g bes d'2) | r8 ees8( aes c') r8 d8( aes c') | <g bes d'>2 <aes c' ees'>2 |
  % A, bars 5-12
  <g bes d'>2.\p r4 | r4 <ees g bes d'>4 <ees g bes d'>2 |
  <ees aes c'>2. r4 | r4 <d aes c'>4 <d aes c'>2 |
  <f bes d'>2 <e bes des'>2 | <ees aes c'>2 <d aes c'>2 |
  <g bes d'>2 <ees g bes d'>2 | r4 <ees aes c'>4 r4 <d aes c'>4 |
  % B, bars 13-20
  <g bes d'>4.\p <g bes d'>8 ~ <g bes d'>2 | r4 <ees g bes d'>4 <ees g bes d'>2 |
  <ees aes c'>4. <ees aes c'>8 ~ <ees aes c'>2 | r4 <d aes c'>4 <d aes c'>2 |
  <f bes d'>2 <e bes des'>2 | <ees aes c'>2 <d aes c'>2 |
  <g bes c'>4. <g bes c'>8 ~ <g bes c'>2 | <f aes des'>2 <g bes des'>2 |
  % C, bars 21-28
  <g c' ees'>4.\mp <g c' ees'>8 ~ <g c' ees'>2 | <f ces' ees'>4. <f ces' ees'>8 ~ <f ces' ees'>2 |
  <f bes d'>2 <ees g bes d'>2 | <f bes d'>2 <e bes des'>2 |
  <ees aes c'>4. <ees aes c'>8 ~ <ees aes c'>2 | <g c' ees'>4. <fis c' d'>8 ~ <fis c' d'>2 |
  <f bes d'>2 <e bes d'>2 | <ees aes c'>2 <d aes c'>2 |
  % D, bars 29-36
  <g bes d'>1\p | r4 <ees g bes d'>4 <ees g bes d'>2 |
  <ees aes c'>1 | r4 <d aes c'>4 <d aes c'>2 |
  <f bes d'>2 <e bes des'>2 | <ees aes c'>2 <d aes c'>2 |
  r8 g8( bes c' ees'2) | r8 g8( bes c' ees' f' g' bes') |
  % E, bars 37-40: band soli into the new key
  <g c' ees'>2\f <g c' ees'>2 | <f ces' ees'>2 <f ces' ees'>2 |
  <f bes d'>2 <e bes des'>2 | <f bes d'>2 <e bes d'>2 |
  % F, bars 41-48
  <a c' e'>4.\f <a c' e'>8 ~ <a c' e'>2 | <f a c' e'>4. <f a c' e'>8 ~ <f a c' e'>2 |
  <f bes d'>4. <f bes d'>8 ~ <f bes d'>2 | <e bes d'>4. <e bes d'>8 ~ <e bes d'>2 |
  <g c' e'>2 <fis c' ees'>2 | <f bes d'>2 <e bes d'>2 |
  <a c' e'>4. <f a c' e'>8 ~ <f a c' e'>2 | <f bes d'>4. <e bes d'>8 ~ <e bes d'>2 |
  % G, bars 49-52
  <g c' e'>2\mp <fis c' ees'>2 | <f bes d'>2 <f bes d'>2 |
  <a d' f'>2 <g des' f'>2 |
  <a c' e'>1\p\fermata |
}

pianoLeft = \fixed c {
  % Intro, bars 1-4
  <ees bes>1 | <c g>1 | <f, c>2 <bes, f>2 | <ees bes>2 <bes, f>2 |
  % A, bars 5-12
  <ees bes>2. r4 | r4 <c g>4 <c g>2 |
  <f, c>2. r4 | r4 <bes, f>4 <bes, f>2 |
  <g, d>2 <c g>2 | <f, c>2 <bes, f>2 |
  <ees bes>2 <c g>2 | r4 <f, c>4 r4 <bes, f>4 |
  % B, bars 13-20
  <ees bes>4. <ees bes>8 ~ <ees bes>2 | r4 <c g>4 <c g>2 |
  <f, c>4. <f, c>8 ~ <f, c>2 | r4 <bes, f>4 <bes, f>2 |
  <g, d>2 <c g>2 | <f, c>2 <bes, f>2 |
  <ees bes>4. <ees bes>8 ~ <ees bes>2 | <bes, f>2 <ees bes>2 |
  % C, bars 21-28
  <aes, ees>4. <aes, ees>8 ~ <aes, ees>2 | <aes, ees>4. <aes, ees>8 ~ <aes, ees>2 |
  <g, d>2 <c g>2 | <g, d>2 <c g>2 |
  <f, c>4. <f, c>8 ~ <f, c>2 | <a, ees>4. <d a>8 ~ <d a>2 |
  <g, d>2 <c g>2 | <f, c>2 <bes, f>2 |
  % D, bars 29-36
  <ees bes>1 | r4 <c g>4 <c g>2 |
  <f, c>1 | r4 <bes, f>4 <bes, f>2 |
  <g, d>2 <c g>2 | <f, c>2 <bes, f>2 |
  <ees bes>1 | <ees bes>2. r4 |
  % E, bars 37-40: band soli into the new key
  <aes, ees>2 <aes, ees>2 | <aes, ees>2 <aes, ees>2 |
  <g, d>2 <c g>2 | <g, d>2 <c g>2 |
  % F, bars 41-48
  <f, c>4. <f, c>8 ~ <f, c>2 | <d a>4. <d a>8 ~ <d a>2 |
  <g, d>4. <g, d>8 ~ <g, d>2 | <c g>4. <c g>8 ~ <c g>2 |
  <a, e>2 <d a>2 | <g, d>2 <c g>2 |
  <f, c>4. <d a>8 ~ <d a>2 | <g, d>4. <c g>8 ~ <c g>2 |
  % G, bars 49-52
  <a, e>2 <d a>2 | <g, d>2 <c g>2 |
  <bes, f>2 <bes, f>2 |
  <f, c>1\fermata |
}

bassLine = \fixed c {
  % Intro, bars 1-4
  R1*2 | f2\p bes, | ees2 bes, |
  % A, bars 5-12
  ees2. d4 | c2. g,4 | f,2. c4 | bes,2. f4 |
  g2 c | f2 bes, | ees2 c | f2 bes, |
  % B, bars 13-20
  ees2. d4 | c2. g,4 | f,2. c4 | bes,2. f4 |
  g2 c | f2 bes, | ees2. d4 | bes,2 ees |
  % C, bars 21-28
  aes,2.\mp ees4 | aes,2. ces4 | g,2 c | g,2 c |
  f2. c4 | a,2 d | g,2 c | f2 bes, |
  % D, bars 29-36
  ees2.\p d4 | c2. g,4 | f,2. c4 | bes,2. f4 |
  g2 c | f2 bes, | ees2 bes, | ees2 g,4\< bes, |
  % E, bars 37-40: band soli into the new key
  aes,2\f ees4 g | aes2 ces'4 aes | g2 c | g,2 c4 e |
  % F, bars 41-48
  f2 c4 e | d2 a,4 f | g2 d4 b, | c2 g4 e |
  a,2 d | g2 c | f2\> d | g,2 c\! |
  % G, bars 49-52
  a,2\mp d | g,2 c | bes,2 bes, | f1\p\fermata |
}

guitarComp = \fixed c' {
  \override Score.SpacingSpanner.shortest-duration-space = #1.6
  % Intro, bars 1-4
  R1*4 |
  % A, bars 5-12
  << { s1\p } \slashes 1 4 >> \slashes 7 4 |
  % B, C and D, bars 13-36
  \slashes 24 4 |
  % E, bars 37-40: band soli into the new key
  \rhythm { b2\f b2 | b2 b2 | b2 b2 | b2\< b2\! } |
  % F, bars 41-48
  \slashes 8 4 |
  % G, bars 49-52
  \slashes 3 4 | \rhythm { b1\p\fermata } |
}

brushes = \drummode { << { sn4 sn8 sn sn4 sn8 sn } \\ { bd4 hhp bd hhp } >> | }
ride = \drummode { << { cymr4 cymr8 cymr cymr4 cymr8 cymr } \\ { bd4 hhp bd hhp } >> | }

drumPart = \drummode {
  % Intro, bars 1-4
  R1*3 | r2 r4 << { s4\p\cue "Brushes" } { sn8 sn } >> |
  % A, bars 5-12
  \repeat percent 8 \brushes
  % B, bars 13-20
  \repeat percent 7 \brushes
  sn4 sn8 sn sn4 sn8\cue "to sticks" sn |
  % C, bars 21-28
  << { s1\mp } \ride >> \repeat percent 6 \ride
  cymr4 cymr sn8 sn toml4 |
  % D, bars 29-36
  << { s1\p } \ride >> \repeat percent 6 \ride
  cymr2 sn8\< sn toml toml |
  % E, bars 37-40: band soli into the new key
  << { s1\f } \ride >> \repeat percent 2 \ride
  sn4 sn8 sn tomh tomh toml toml |
  % F, bars 41-48
  << { cymc4-> cymr8 cymr cymr4 cymr8 cymr } \\ { bd4 hhp bd hhp } >> |
  \repeat percent 6 \ride
  cymr2\> cymr2\! |
  % G, bars 49-52
  cymr2\mp cymr | cymr2 cymr | cymr2 cymr | cymr1\p\fermata |
}
