%% Ninepenny Waltz: reeds and brass, at concert pitch.
\version "2.25.12"

altoOne = \fixed c' {
  % Pickup
  f4\mp |
  % A, bars 1-20
  d'2 c'4 | bes2 f4 |
  g4( a bes) | a2 f4 |
  f'2 d'4 | b2 g4 |
  ees'4( d' c') | a2. |
  r4 f4( bes) | d'2 aes4 |
  g4( bes ees') | ges'2 ees'4 |
  d'2. | r4 d'4( b) |
  c'2. | r2 f4 |
  ees'2 d'4 | c'4( a c') |
  bes2. ~ | bes2 r4 |
  % B, bars 21-36
  c'2.\p ~ | c'2 bes4 |
  bes2. ~ | bes2 r4 |
  c'2. | c'2. |
  bes4( a g | d'2) r4 |
  ees'2. ~ | ees'2 d'4 |
  c'2. ~ | c'2 a4 |
  bes2.\< | bes2. |
  c'4(\mf bes g) | f2 f4 |
  % C, bars 37-52
  d'2\f c'4 | bes2 f4 |
  g4( a bes) | a2 f4 |
  f'2 d'4 | b2 g4 |
  ees'4( d' c') | a2. |
  r4 f4( bes) | d'2 aes4 |
  g4( bes ees') | ges'2 ees'4 |
  ees'2 d'4 | c'4( a c') |
  bes2. ~ | bes2 r4 |
  % D, bars 53-68: solos
  <>\cue "Solo, first time" \slashes 16 3 |
  % E, bars 69-80: last time
  ees'2\f d'4 | c'4( a c') |
  f'2 e'4 | d'4( b d') |
  g'2 f'4 | ees'4( c' a) |
  d'2. | bes2 g4 |
  ees'2\mp d'4 | c'4( bes g) |
  a2. ~ | a2.\fermata |
}

altoTwo = \fixed c' {
  % Pickup
  c4\mp |
  % A, bars 1-20
  a2 f4 | f2 bes,4 |
  c4( ees ees) | ees2 c4 |
  c'2 a4 | f2 d4 |
  bes4( bes g) | ees2. |
  r4 bes,4( f) | aes2 d4 |
  d4( ees bes) | c'2 bes4 |
  a2. | r4 aes4( f) |
  g2. | r2 c4 |
  bes2 bes4 | f4( ees f) |
  f2. ~ | f2 r4 |
  % B, bars 21-36
  f2.\p ~ | f2 f4 |
  ees2. ~ | ees2 r4 |
  g2. | fis2. |
  f4( f d | g2) r4 |
  bes2. ~ | bes2 bes4 |
  g2. ~ | g2 d4 |
  f2.\< | e2. |
  g4(\mf ees c) | c2 c4 |
  % C, bars 37-52
  a2\f f4 | f2 bes,4 |
  c4( ees ees) | ees2 c4 |
  c'2 a4 | f2 d4 |
  bes4( bes g) | ees2. |
  r4 bes,4( f) | aes2 d4 |
  d4( ees bes) | c'2 bes4 |
  bes2 bes4 | f4( ees f) |
  f2. ~ | f2 r4 |
  % D, bars 53-68: solos
  R2.*8\cue "Alto, then trumpet solo" |
  d2.\p\onCue ~ | d2. |
  bes,2. | c2. |
  c2. | b,2. |
  bes,2. | a,2 r4 |
  % E, bars 69-80: last time
  bes2\f bes4 | f4( ees f) |
  c'2 c'4 | g4( f g) |
  c'2 bes4 | a4( f ees) |
  a2. | ees2 d4 |
  bes2\mp bes4 | f4( ees c) |
  d2. ~ | d2.\fermata |
}

tenor = \fixed c' {
  % Pickup
  a,4\mp |
  % A, bars 1-20
  f2 d4 | d2 g,4 |
  bes,4( c c) | c2 a,4 |
  a2 f4 | d2 b,4 |
  g4( g ees) | c2. |
  r4 a,4( d) | f2 bes,4 |
  bes,4( d g) | bes2 ges4 |
  f2. | r4 f4( d) |
  ees2. | r2 a,4 |
  g2 g4 | ees4( c ees) |
  d2. ~ | d2 r4 |
  % B, bars 21-36
  ees2.\p ~ | ees2 d4 |
  d2. ~ | d2 r4 |
  ees2. | ees2. |
  d4( d bes, | f2) r4 |
  g2. ~ | g2 g4 |
  ees2. ~ | ees2 c4 |
  d2.\< | c2. |
  ees4(\mf c bes,) | a,2 a,4 |
  % C, bars 37-52
  f2\f d4 | d2 g,4 |
  bes,4( c c) | c2 a,4 |
  a2 f4 | d2 b,4 |
  g4( g ees) | c2. |
  r4 a,4( d) | f2 bes,4 |
  bes,4( d g) | bes2 ges4 |
  g2 g4 | ees4( c ees) |
  d2. ~ | d2 r4 |
  % D, bars 53-68: solos
  R2.*8\cue "Alto, then trumpet solo" |
  a,2.\p\onCue | aes,2. |
  g,2. | ges,2. |
  f,2. ~ | f,2. |
  g,2. | f,2 r4 |
  % E, bars 69-80: last time
  g2\f g4 | ees4( c ees) |
  a2 a4 | f4( d f) |
  bes2 g4 | f4( ees c) |
  f2. | d2 bes,4 |
  g2\mp g4 | ees4( c bes,) |
  bes,2. ~ | bes,2.\fermata |
}

bari = \fixed c' {
  % Pickup
  ees,4\mp |
  % A, bars 1-20
  bes,2 a,4 | g,2 d,4 |
  ees,4( g, g,) | f,2 ees,4 |
  d2 c4 | g,2 f,4 |
  c4( c bes,) | f,2. |
  r4 d,4( a,) | bes,2 f,4 |
  ees,4( g, d) | ees2 c4 |
  c2. | r4 b,4( aes,) |
  bes,2. | r2 ees,4 |
  c2 c4 | a,4( f, a,) |
  g,2. ~ | g,2 r4 |
  % B, bars 21-36
  aes,2.\p ~ | aes,2 aes,4 |
  g,2. ~ | g,2 r4 |
  a,2. | a,2. |
  g,4( g, f, | bes,2) r4 |
  c2. ~ | c2 c4 |
  a,2. ~ | a,2 fis,4 |
  g,2.\< | g,2. |
  bes,4(\mf g, ees,) | ees,2 ees,4 |
  % C, bars 37-52
  bes,2\f a,4 | g,2 d,4 |
  ees,4( g, g,) | f,2 ees,4 |
  d2 c4 | g,2 f,4 |
  c4( c bes,) | f,2. |
  r4 d,4( a,) | bes,2 f,4 |
  ees,4( g, d) | ees2 c4 |
  c2 c4 | a,4( f, a,) |
  g,2. ~ | g,2 r4 |
  % D, bars 53-68: solos
  R2.*8\cue "Alto, then trumpet solo" |
  bes,,2.\p\onCue ~ | bes,,2. |
  ees,2. ~ | ees,2. |
  d,2. | g,,2. |
  c,2. | f,2 r4 |
  % E, bars 69-80: last time
  c2\f c4 | a,4( f, a,) |
  d2 d4 | b,4( g, b,) |
  ees2 c4 | c4( a, f,) |
  bes,2. | g,2 ees,4 |
  c2\mp c4 | bes,4( f, ees,) |
  f,2. ~ | f,2.\fermata |
}

trumpetOne = \fixed c' {
  % Pickup
  r4 |
  % A, bars 1-20
  R2.*8 |
  f2.\p | f2. |
  g2. | ges2 r4 |
  r4 c'4-.\mp c'4-. | b2. |
  r4 bes4-. bes4-. | a2 r4 |
  r4 bes4-.\mp bes4-. | a2. |
  r4 d'4-. f'4-. | d'2 r4 |
  % B, bars 21-36
  r4 aes4(\mf c') | ees'2 d'4 |
  g2. | r4 g4( bes) |
  ees'2 d'4 | c'4( a fis) |
  bes2. ~ | bes2 r4 |
  r4 c'4( ees') | g'2 f'4 |
  ees'2 c'4 | a2 c'4 |
  bes4( d' g') | e'2. |
  ees'4( d' c') | a2 f4 |
  % C, bars 37-52
  r4 f'4-.\mf f'4-. | d'2 r4 |
  r4 ees'4-. ees'4-. | c'2 r4 |
  r4 f'4-. f'4-. | f'2 r4 |
  r4 g'4-. ees'4-. | c'2. |
  r4 d'4-. f'4-. | aes'2 f'4 |
  g'2. | ges'2. |
  g'2 f'4 | ees'4( c' ees') |
  d'2. ~ | d'2 r4 |
  % D, bars 53-68: solos
  <>\cue "Solo, second time" \slashes 16 3 |
  % E, bars 69-80: last time
  r4 ees'4-.\f ees'4-. | a2. |
  r4 f'4-. f'4-. | b2. |
  r4 ees'4-. ees'4-. | c'2. |
  r4 d'4-. f'4-. | g'2. |
  g2.\mp | bes2. |
  d'2. ~ | d'2.\fermata |
}

trumpetTwo = \fixed c' {
  % Pickup
  r4 |
  % A, bars 1-20
  R2.*8 |
  d2.\p | d2. |
  ees2. | ees2 r4 |
  r4 a4-.\mp a4-. | aes2. |
  r4 g4-. g4-. | f2 r4 |
  r4 g4-.\mp g4-. | f2. |
  r4 bes4-. d'4-. | bes2 r4 |
  % B, bars 21-36
  r4 f4(\mf aes) | bes2 bes4 |
  ees2. | r4 ees4( g) |
  c'2 a4 | a4( fis ees) |
  g2. ~ | g2 r4 |
  r4 g4( c') | ees'2 c'4 |
  c'2 a4 | fis2 a4 |
  g4( bes d') | c'2. |
  c'4( bes g) | f2 c4 |
  % C, bars 37-52
  r4 d'4-.\mf d'4-. | bes2 r4 |
  r4 c'4-. c'4-. | a2 r4 |
  r4 d'4-. d'4-. | d'2 r4 |
  r4 ees'4-. c'4-. | a2. |
  r4 bes4-. d'4-. | f'2 d'4 |
  ees'2. | ees'2. |
  ees'2 c'4 | c'4( a c') |
  bes2. ~ | bes2 r4 |
  % D, bars 53-68: solos
  R2.*8\cue "Alto, then trumpet solo" |
  R2.*8 |
  % E, bars 69-80: last time
  r4 c'4-.\f c'4-. | f2. |
  r4 d'4-. d'4-. | g2. |
  r4 c'4-. c'4-. | a2. |
  r4 bes4-. d'4-. | ees'2. |
  ees2.\mp | f2. |
  bes2. ~ | bes2.\fermata |
}

trombone = \fixed c' {
  % Pickup
  r4 |
  % A, bars 1-20
  R2.*8 |
  bes,,2.\p | bes,,2. |
  d,2. | c,2 r4 |
  r4 f,4-.\mp f,4-. | f,2. |
  r4 ees,4-. ees,4-. | ees,2 r4 |
  r4 ees,4-.\mp ees,4-. | ees,2. |
  r4 g,4-. bes,4-. | g,2 r4 |
  % B, bars 21-36
  r4 ees,4(\mf f,) | aes,2 aes,4 |
  d,2. | r4 d,4( ees,) |
  a,2 g,4 | fis,4( ees, c,) |
  f,2. ~ | f,2 r4 |
  r4 ees,4( bes,) | c2 bes,4 |
  a,2 g,4 | d,2 fis,4 |
  f,4( g, bes,) | bes,2. |
  bes,4( g, ees,) | ees,2 a,,4 |
  % C, bars 37-52
  r4 bes,4-.\mf bes,4-. | g,2 r4 |
  r4 bes,4-. bes,4-. | f,2 r4 |
  r4 c4-. c4-. | b,2 r4 |
  r4 c4-. bes,4-. | f,2. |
  r4 a,4-. bes,4-. | d2 bes,4 |
  d2. | c2. |
  c2 bes,4 | a,4( f, a,) |
  g,2. ~ | g,2 r4 |
  % D, bars 53-68: solos
  R2.*8\cue "Alto, then trumpet solo" |
  R2.*8 |
  % E, bars 69-80: last time
  r4 bes,4-.\f bes,4-. | ees,2. |
  r4 c4-. c4-. | f,2. |
  r4 bes,4-. bes,4-. | f,2. |
  r4 a,4-. bes,4-. | d2. |
  c,2.\mp | ees,2. |
  a,2. ~ | a,2.\fermata |
}

