%% Two Left Gloves: reeds and brass, at concert pitch.
\version "2.25.12"

altoOne = \fixed c' {
  % 1, bars 1-8: the groove
  R1*8 |
  % 2, bars 9-18: head
  r8 d'16-.\f d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-. d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 a16-. c'16-. r8 d'8-> ~ d'2 |
  r4 d'8-. d'16( c'16) ~ c'8 a8-. r4 | r4 c'8-. c'16( a16) ~ a8 g8-. r4 |
  bes8-. r8 d'8-. r8 f'8-. r8 g'8-. r8 | g'8-> r8 r4 r8 c'16-. d'16-. e'8-. r8 |
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | d'8-^ r8 r4 r2 |
  % 3, bars 19-26
  d'4.\mf c'8 ~ c'8 a16( c' d'8 f') | e'4. d'8 ~ d'4 c'8( bes) |
  e'4. c'8 ~ c'8 a16( c' e'8 g') | f'2 r8 e'16( f' e'8 d') |
  d'4. bes8 ~ bes8 g16( bes d'8 f') | e'4. g8 ~ g4 a8( bes) |
  a2. r8 g8 | g8-. r8 bes8-. r8 c'4-> r4 |
  % 4, bars 27-34: head
  r8 d'16-.\f d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-. d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 a16-. c'16-. r8 d'8-> ~ d'2 |
  r4 d'8-. d'16( c'16) ~ c'8 a8-. r4 | r4 c'8-. c'16( a16) ~ a8 g8-. r4 |
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | d'8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  <>\cue "Solos (open)" \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  r4 r8 a16-.\mp\onCue c'16-. d'4-> r4 | R1 |
  r4 r8 a16-. c'16-. d'4-> r4 | r2 r8 c'16( d' e'8-.) r8 |
  r4 r8 a16-. c'16-. d'4-> r4 | R1 |
  r4 r8 a16-. c'16-. d'4-> r4 | r8 f'8-> r8 e'8-> r8 d'8-. c'8-. r8 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  r8 d'16-.\p d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-.\< d'16-. r8 c'16( a16) c'8-. a8-. r8 c'8 | d16( e f g a bes c' d') e'8-.\f r8 r4 |
  % 8, bars 59-66: head
  r8 d'16-.\ff d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-. d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 a16-. c'16-. r8 d'8-> ~ d'2 |
  r4 d'8-. d'16( c'16) ~ c'8 a8-. r4 | r4 c'8-. c'16( a16) ~ a8 g8-. r4 |
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | d'8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | d'8-^ r8 r4 r2 |
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | d'8-^ r8 r4 r2 |
  d'8-. d'16-. d'16-. r8 d'8-> ~ d'4 e'4-> | d'16-. d'16-. r8 r8 d'8-^ r2 |
}

altoTwo = \fixed c' {
  % 1, bars 1-8: the groove
  R1*8 |
  % 2, bars 9-18: head
  r8 d'16-.\f d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-. d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 a16-. c'16-. r8 d'8-> ~ d'2 |
  r4 a8-. a16( f16) ~ f8 d8-. r4 | r4 g8-. g16( e16) ~ e8 c8-. r4 |
  f8-. r8 g8-. r8 bes8-. r8 d'8-. r8 | cis'8-> r8 r4 r8 g16-. g16-. a8-. r8 |
  f8-. r8 g8-. r8 a8-> r8 a8-> r8 | a8-^ r8 r4 r2 |
  % 3, bars 19-26
  a4.\mf f8 ~ f8 d16( f a8 bes) | bes4. g8 ~ g4 g8( e) |
  a4. g8 ~ g8 e16( g a8 c') | c'2 r8 c'16( c' c'8 a) |
  g4. f8 ~ f8 d16( f g8 bes) | bes4. c8 ~ c4 e8( e) |
  e2. r8 c8 | d8-. r8 e8-. r8 g4-> r4 |
  % 4, bars 27-34: head
  r8 d'16-.\f d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-. d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 a16-. c'16-. r8 d'8-> ~ d'2 |
  r4 a8-. a16( f16) ~ f8 d8-. r4 | r4 g8-. g16( e16) ~ e8 c8-. r4 |
  f8-. r8 g8-. r8 a8-> r8 a8-> r8 | a8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  <>\cue "Solos (open)" \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  r4 r8 d16-.\mp\onCue f16-. a4-> r4 | R1 |
  r4 r8 d16-. f16-. a4-> r4 | r2 r8 f16( a b8-.) r8 |
  r4 r8 d16-. f16-. a4-> r4 | R1 |
  r4 r8 d16-. f16-. a4-> r4 | r8 c'8-> r8 c'8-> r8 a8-. f8-. r8 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  r8 d'16-.\p d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-.\< d'16-. r8 c'16( a16) c'8-. a8-. r8 c'8 | d16( e f g a bes c' d') e'8-.\f r8 r4 |
  % 8, bars 59-66: head
  r8 d'16-.\ff d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 d'16-. d'16-. r8 f'8-> ~ f'4 e'16( d' c' a) |
  r8 d'16-. d'16-. r8 c'16( a16) c'8-. a8-. r4 | r8 a16-. c'16-. r8 d'8-> ~ d'2 |
  r4 a8-. a16( f16) ~ f8 d8-. r4 | r4 g8-. g16( e16) ~ e8 c8-. r4 |
  f8-. r8 g8-. r8 a8-> r8 a8-> r8 | a8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  f8-. r8 g8-. r8 a8-> r8 a8-> r8 | a8-^ r8 r4 r2 |
  f8-. r8 g8-. r8 a8-> r8 a8-> r8 | a8-^ r8 r4 r2 |
  a8-. a16-. a16-. r8 a8-> ~ a4 a4-> | a16-. a16-. r8 r8 a8-^ r2 |
}

tenor = \fixed c' {
  % 1, bars 1-8: the groove
  R1*8 |
  % 2, bars 9-18: head
  r8 d16-.\f d16-. r8 c16( a,16) c8-. a,8-. r4 | r8 d16-. d16-. r8 f8-> ~ f4 e16( d c a,) |
  r8 d16-. d16-. r8 c16( a,16) c8-. a,8-. r4 | r8 a,16-. c16-. r8 d8-> ~ d2 |
  r4 f8-. f16( d16) ~ d8 bes,8-. r4 | r4 e8-. e16( c16) ~ c8 a,8-. r4 |
  d8-. r8 f8-. r8 g8-. r8 bes8-. r8 | a8-> r8 r4 r8 e16-. e16-. g8-. r8 |
  d8-. r8 f8-. r8 g8-> r8 g8-> r8 | f8-^ r8 r4 r2 |
  % 3, bars 19-26
  f4.\mf d8 ~ d8 bes,16( d f8 a) | g4. e8 ~ e4 e8( c) |
  g4. e8 ~ e8 c16( e g8 a) | a2 r8 a16( a a8 f) |
  f4. d8 ~ d8 bes,16( d f8 g) | g4. bes,8 ~ bes,4 c8( c) |
  c2. r8 a,8 | bes,8-. r8 d8-. r8 e4-> r4 |
  % 4, bars 27-34: head
  r8 d16-.\f d16-. r8 c16( a,16) c8-. a,8-. r4 | r8 d16-. d16-. r8 f8-> ~ f4 e16( d c a,) |
  r8 d16-. d16-. r8 c16( a,16) c8-. a,8-. r4 | r8 a,16-. c16-. r8 d8-> ~ d2 |
  r4 f8-. f16( d16) ~ d8 bes,8-. r4 | r4 e8-. e16( c16) ~ c8 a,8-. r4 |
  d8-. r8 f8-. r8 g8-> r8 g8-> r8 | f8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  <>\cue "Solos (open)" \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  r4 r8 c16-.\mp\onCue d16-. f4-> r4 | R1 |
  r4 r8 c16-. d16-. f4-> r4 | r2 r8 d16( f a8-.) r8 |
  r4 r8 c16-. d16-. f4-> r4 | R1 |
  r4 r8 c16-. d16-. f4-> r4 | r8 a8-> r8 a8-> r8 f8-. d8-. r8 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  r8 d16-.\p d16-. r8 c16( a,16) c8-. a,8-. r4 | r8 d16-. d16-. r8 f8-> ~ f4 e16( d c a,) |
  r8 d16-.\< d16-. r8 c16( a,16) c8-. a,8-. r8 c8 | d,16( e, f, g, a, bes, c d) e8-.\f r8 r4 |
  % 8, bars 59-66: head
  r8 d16-.\ff d16-. r8 c16( a,16) c8-. a,8-. r4 | r8 d16-. d16-. r8 f8-> ~ f4 e16( d c a,) |
  r8 d16-. d16-. r8 c16( a,16) c8-. a,8-. r4 | r8 a,16-. c16-. r8 d8-> ~ d2 |
  r4 f8-. f16( d16) ~ d8 bes,8-. r4 | r4 e8-. e16( c16) ~ c8 a,8-. r4 |
  d8-. r8 f8-. r8 g8-> r8 g8-> r8 | f8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  d8-. r8 f8-. r8 g8-> r8 g8-> r8 | f8-^ r8 r4 r2 |
  d8-. r8 f8-. r8 g8-> r8 g8-> r8 | f8-^ r8 r4 r2 |
  f8-. f16-. f16-. r8 f8-> ~ f4 g4-> | f16-. f16-. r8 r8 f8-^ r2 |
}

bari = \fixed c' {
  % 1, bars 1-8: the groove
  R1*8 |
  % 2, bars 9-18: head
  r8 d,16-.\f d,16-. r8 c,16( a,,16) c,8-. a,,8-. r4 | r8 d,16-. d,16-. r8 f,8-> ~ f,4 e,16( d, c, a,,) |
  r8 d,16-. d,16-. r8 c,16( a,,16) c,8-. a,,8-. r4 | r8 a,,16-. c,16-. r8 d,8-> ~ d,2 |
  r4 bes,8-. bes,16( a,16) ~ a,8 f,8-. r4 | r4 a,8-. a,16( g,16) ~ g,8 e,8-. r4 |
  g,8-. r8 bes,8-. r8 d8-. r8 f8-. r8 | e8-> r8 r4 r8 a,16-. a,16-. cis8-. r8 |
  g,8-. r8 bes,8-. r8 cis8-> r8 cis8-> r8 | c8-^ r8 r4 r2 |
  % 3, bars 19-26
  bes,4.\mf a,8 ~ a,8 f,16( a, bes,8 d) | c4. bes,8 ~ bes,4 bes,8( g,) |
  c4. a,8 ~ a,8 g,16( a, c8 e) | d2 r8 d16( d d8 c) |
  bes,4. g,8 ~ g,8 f,16( g, bes,8 d) | c4. e,8 ~ e,4 g,8( g,) |
  f,2. r8 e,8 | e,8-. r8 g,8-. r8 a,4-> r4 |
  % 4, bars 27-34: head
  r8 d,16-.\f d,16-. r8 c,16( a,,16) c,8-. a,,8-. r4 | r8 d,16-. d,16-. r8 f,8-> ~ f,4 e,16( d, c, a,,) |
  r8 d,16-. d,16-. r8 c,16( a,,16) c,8-. a,,8-. r4 | r8 a,,16-. c,16-. r8 d,8-> ~ d,2 |
  r4 bes,8-. bes,16( a,16) ~ a,8 f,8-. r4 | r4 a,8-. a,16( g,16) ~ g,8 e,8-. r4 |
  g,8-. r8 bes,8-. r8 cis8-> r8 cis8-> r8 | c8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  <>\cue "Solos (open)" \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  r4 r8 f,16-.\mp\onCue a,16-. c4-> r4 | R1 |
  r4 r8 f,16-. a,16-. c4-> r4 | r2 r8 a,16( b, d8-.) r8 |
  r4 r8 f,16-. a,16-. c4-> r4 | R1 |
  r4 r8 f,16-. a,16-. c4-> r4 | r8 d8-> r8 d8-> r8 b,8-. a,8-. r8 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  r8 d,16-.\p d,16-. r8 c,16( a,,16) c,8-. a,,8-. r4 | r8 d,16-. d,16-. r8 f,8-> ~ f,4 e,16( d, c, a,,) |
  r8 d,16-.\< d,16-. r8 c,16( a,,16) c,8-. a,,8-. r8 c,8 | d,,16( e,, f,, g,, a,, bes,, c, d,) e,8-.\f r8 r4 |
  % 8, bars 59-66: head
  r8 d,16-.\ff d,16-. r8 c,16( a,,16) c,8-. a,,8-. r4 | r8 d,16-. d,16-. r8 f,8-> ~ f,4 e,16( d, c, a,,) |
  r8 d,16-. d,16-. r8 c,16( a,,16) c,8-. a,,8-. r4 | r8 a,,16-. c,16-. r8 d,8-> ~ d,2 |
  r4 bes,8-. bes,16( a,16) ~ a,8 f,8-. r4 | r4 a,8-. a,16( g,16) ~ g,8 e,8-. r4 |
  g,8-. r8 bes,8-. r8 cis8-> r8 cis8-> r8 | c8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  g,8-. r8 bes,8-. r8 cis8-> r8 cis8-> r8 | c8-^ r8 r4 r2 |
  g,8-. r8 bes,8-. r8 cis8-> r8 cis8-> r8 | c8-^ r8 r4 r2 |
  bes,8-. bes,16-. bes,16-. r8 bes,8-> ~ bes,4 cis4-> | c16-. c16-. r8 r8 c8-^ r2 |
}

trumpetOne = \fixed c' {
  % 1, bars 1-8: the groove
  R1*8 |
  % 2, bars 9-18: head
  r2 r4 r8 f'16-.\f f'16-. | r4 r8 e'8-> ~ e'4 r4 |
  r2 r4 r8 f'16-. f'16-. | r4 r8 e'8-> ~ e'2 |
  r4 f'8-. f'16( d'16) r2 | r4 e'8-. e'16( c'16) r2 |
  bes8-. r8 d'8-. r8 f'8-. r8 g'8-. r8 | g'8-> r8 r4 r2 |
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | f'8-^ r8 r4 r2 |
  % 3, bars 19-26
  a1\mp | bes1 |
  g1 | a2 r2 |
  bes1 | bes1 |
  c'2. r4 | bes8-.\f r8 d'8-. r8 e'4-> r4 |
  % 4, bars 27-34: head
  r2 r4 r8 f'16-.\f f'16-. | r4 r8 e'8-> ~ e'4 r4 |
  r2 r4 r8 f'16-. f'16-. | r4 r8 e'8-> ~ e'2 |
  r4 f'8-. f'16( d'16) r2 | r4 e'8-. e'16( c'16) r2 |
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | f'8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  <>\cue "Solos (open)" \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  R1 | r4 r8 f'16-.\mp\onCue f'16-. e'4-> r4 |
  R1 | r4 r8 f'16-. f'16-. e'4-> r4 |
  R1 | r4 r8 f'16-. f'16-. e'4-> r4 |
  R1 | r8 f'8->\< r8 e'8-> r8 e'8-. e'8-.\! r8 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  R1*2 |
  r2 r4 r8 f'16-.\mf f'16-. | r2 e'8-^\f r8 r4 |
  % 8, bars 59-66: head
  r2 r4 r8 f'16-.\ff f'16-. | r4 r8 e'8-> ~ e'4 r4 |
  r2 r4 r8 f'16-. f'16-. | r4 r8 e'8-> ~ e'2 |
  r4 f'8-. f'16( d'16) r2 | r4 e'8-. e'16( c'16) r2 |
  bes8-. r8 d'8-. r8 e'8-> r8 e'8-> r8 | f'8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  bes8-. r8 d'8-. r8 e'8-> r8 g'8-> r8 | f'8-^ r8 r4 r2 |
  bes8-. r8 d'8-. r8 e'8-> r8 g'8-> r8 | f'8-^ r8 r4 r2 |
  f'8-. f'16-. f'16-. r8 f'8-> ~ f'4 g'4-> | f'16-. f'16-. r8 r8 f'8-^ r2 |
}

trumpetTwo = \fixed c' {
  % 1, bars 1-8: the groove
  R1*8 |
  % 2, bars 9-18: head
  r2 r4 r8 d'16-.\f d'16-. | r4 r8 c'8-> ~ c'4 r4 |
  r2 r4 r8 d'16-. d'16-. | r4 r8 c'8-> ~ c'2 |
  r4 d'8-. d'16( bes16) r2 | r4 c'8-. c'16( a16) r2 |
  g8-. r8 bes8-. r8 d'8-. r8 d'8-. r8 | e'8-> r8 r4 r2 |
  g8-. r8 bes8-. r8 cis'8-> r8 cis'8-> r8 | d'8-^ r8 r4 r2 |
  % 3, bars 19-26
  f1\mp | g1 |
  e1 | f2 r2 |
  g1 | g1 |
  a2. r4 | g8-.\f r8 bes8-. r8 cis'4-> r4 |
  % 4, bars 27-34: head
  r2 r4 r8 d'16-.\f d'16-. | r4 r8 c'8-> ~ c'4 r4 |
  r2 r4 r8 d'16-. d'16-. | r4 r8 c'8-> ~ c'2 |
  r4 d'8-. d'16( bes16) r2 | r4 c'8-. c'16( a16) r2 |
  g8-. r8 bes8-. r8 cis'8-> r8 cis'8-> r8 | d'8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  <>\cue "Solos (open)" \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  R1 | r4 r8 d'16-.\mp\onCue d'16-. b4-> r4 |
  R1 | r4 r8 d'16-. d'16-. b4-> r4 |
  R1 | r4 r8 d'16-. d'16-. b4-> r4 |
  R1 | r8 d'8->\< r8 c'8-> r8 b8-. b8-.\! r8 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  R1*2 |
  r2 r4 r8 d'16-.\mf d'16-. | r2 cis'8-^\f r8 r4 |
  % 8, bars 59-66: head
  r2 r4 r8 d'16-.\ff d'16-. | r4 r8 c'8-> ~ c'4 r4 |
  r2 r4 r8 d'16-. d'16-. | r4 r8 c'8-> ~ c'2 |
  r4 d'8-. d'16( bes16) r2 | r4 c'8-. c'16( a16) r2 |
  g8-. r8 bes8-. r8 cis'8-> r8 cis'8-> r8 | d'8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  g8-. r8 bes8-. r8 cis'8-> r8 e'8-> r8 | d'8-^ r8 r4 r2 |
  g8-. r8 bes8-. r8 cis'8-> r8 e'8-> r8 | d'8-^ r8 r4 r2 |
  d'8-. d'16-. d'16-. r8 d'8-> ~ d'4 e'4-> | d'16-. d'16-. r8 r8 d'8-^ r2 |
}

trombone = \fixed c' {
  % 1, bars 1-8: the groove
  R1*8 |
  % 2, bars 9-18: head
  r2 r4 r8 c16-.\f c16-. | r4 r8 a,8-> ~ a,4 r4 |
  r2 r4 r8 c16-. c16-. | r4 r8 a,8-> ~ a,2 |
  r4 bes,8-. bes,16( a,16) r2 | r4 a,8-. a,16( g,16) r2 |
  f,8-. r8 g,8-. r8 bes,8-. r8 bes,8-. r8 | cis8-> r8 r4 r2 |
  f,8-. r8 g,8-. r8 a,8-> r8 a,8-> r8 | c8-^ r8 r4 r2 |
  % 3, bars 19-26
  d,1\mp | e,1 |
  c,1 | d,2 r2 |
  f,1 | e,1 |
  f,2. r4 | e,8-.\f r8 g,8-. r8 a,4-> r4 |
  % 4, bars 27-34: head
  r2 r4 r8 c16-.\f c16-. | r4 r8 a,8-> ~ a,4 r4 |
  r2 r4 r8 c16-. c16-. | r4 r8 a,8-> ~ a,2 |
  r4 bes,8-. bes,16( a,16) r2 | r4 a,8-. a,16( g,16) r2 |
  f,8-. r8 g,8-. r8 a,8-> r8 a,8-> r8 | c8-^ r8 r4 r2 |
  % 5, bars 35-42: solos, open
  <>\cue "Solos (open)" \slashes 8 4 |
  % 6, bars 43-50: backgrounds on cue
  R1 | r4 r8 c16-.\mp\onCue c16-. a,4-> r4 |
  R1 | r4 r8 c16-. c16-. a,4-> r4 |
  R1 | r4 r8 c16-. c16-. a,4-> r4 |
  R1 | r8 c8->\< r8 a,8-> r8 a,8-. a,8-.\! r8 |
  % 7, bars 51-58: breakdown
  R1*4\cue "Bass and drums" |
  R1*2 |
  r2 r4 r8 c16-.\mf c16-. | r2 a,8-^\f r8 r4 |
  % 8, bars 59-66: head
  r2 r4 r8 c16-.\ff c16-. | r4 r8 a,8-> ~ a,4 r4 |
  r2 r4 r8 c16-. c16-. | r4 r8 a,8-> ~ a,2 |
  r4 bes,8-. bes,16( a,16) r2 | r4 a,8-. a,16( g,16) r2 |
  f,8-. r8 g,8-. r8 a,8-> r8 a,8-> r8 | c8-^ r8 r4 r2 |
  % 9, bars 67-72: tag
  f,8-. r8 g,8-. r8 a,8-> r8 cis8-> r8 | c8-^ r8 r4 r2 |
  f,8-. r8 g,8-. r8 a,8-> r8 cis8-> r8 | c8-^ r8 r4 r2 |
  bes,8-. bes,16-. bes,16-. r8 bes,8-> ~ bes,4 cis4-> | c16-. c16-. r8 r8 c8-^ r2 |
}

