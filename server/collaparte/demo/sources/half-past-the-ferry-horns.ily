%% Half Past the Ferry: reeds and brass, at concert pitch.
\version "2.25.12"

altoOne = \fixed c' {
  % Intro, bars 1-8
  R1*6 |
  r2 r8 c'8-.\mf a4-. | bes8-. d'4-> bes8-. c'4-^ r4 |
  % A, bars 9-18
  r8 f(\mf a c' d'4-.) c'8( a) | c'8( a4-.) fis8-> ~ fis2 |
  r8 g( bes d' f'4-.) d'8( bes) | d'8( bes4-.) e8-> ~ e2 |
  r8 e'8-> ~ e'4 ees'8( d'4-.) c'8 | bes8( d'4-.) a8 ~ a4 g4-. |
  e8( g a c' ees'4-.) d'8( c') | bes4-. g-. r8 e4.-> |
  f4-. r8 f8 aes4( f8 d) | f2-> r2 |
  % B, bars 19-26
  g1\mp | r2 r8 c'8-. a4-. |
  f1 | r2 r8 d'8-. bes4-. |
  f1 | r2 r8 des'8-. bes4-. |
  e2( fis) | g4-. r4 r2 |
  % C, bars 27-34
  r8 f(\mf a c' d'4-.) c'8( a) | c'8( a4-.) fis8-> ~ fis2 |
  r8 g( bes d' f'4-.) d'8( bes) | d'8( bes4-.) e8-> ~ e2 |
  r8 e'8-> ~ e'4 ees'8( d'4-.) c'8 | bes8( d'4-.) a8 ~ a4 g4-. |
  f4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  R1*16\cue "Tenor solo (open)" |
  % E, bars 51-58: backgrounds on cue
  c'2.(\p\onCue bes4) | a2.( c'4) |
  d'1 ~ | d'2 r2 |
  des'2.( c'4) | bes2.( g4) |
  a2( fis) | bes2-> r2 |
  % F, bars 59-66
  R1*7 |
  r2 r8 d'8-.\f c'4-^ |
  % G, bars 67-82: shout
  R1 | r2 r8 d(\f fis a |
  bes4-.) r4 r2 | r2 r8 e( g bes |
  c'4-.) r4 r2 | r2 r8 a( g e) |
  r4 e8( g a c' ees' d') | bes4-. r4 r2 |
  R1 | r2 r8 d( fis a |
  bes4-.) r4 r2 | r2 r8 e( g bes |
  c'4-.) r4 r2 | r2 r8 e( g e) |
  c'4-^ r4 r8 d'4.-> | c'4-^ r4 r2 |
  % H, bars 83-90
  c8(\f d ees f g4-.) bes8( g) | a4-. c'8-. a8-> r2 |
  bes,8( c d f g4-.) bes8( g) | b4-. d'8-. b8-> r2 |
  c'4-> a8-. c'8-> r8 c'4.-> | d'4-> bes8-. d'8-> r8 e'4.-> |
  d'4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  r8 e'8->\f ~ e'4 ees'8( d'4-.) c'8 | bes8( d'4-.) a8 ~ a4 g4-. |
  r8 g'8-> ~ g'4 fis'8( ees'4-.) c'8 | d'8( f'4-.) a8 ~ a4 bes4-. |
  r8 e'8-> ~ e'4 ees'8( d'4-.) c'8 | bes8( d'4-.) e8 ~ e4 g4-. |
  f4-. r4 r2 | r4 r8 f'8-^ r2 |
}

altoTwo = \fixed c' {
  % Intro, bars 1-8
  R1*6 |
  r2 r8 fis8-.\mf d4-. | f8-. g4-> f8-. g4-^ r4 |
  % A, bars 9-18
  r8 c(\mf d f a4-.) f8( d) | fis8( d4-.) c8-> ~ c2 |
  r8 d( f g bes4-.) g8( f) | g8( e4-.) bes,8-> ~ bes,2 |
  r8 a8-> ~ a4 a8( a4-.) fis8 | f8( g4-.) f8 ~ f4 c4-. |
  a,8( c e g a4-.) a8( fis) | f4-. d-. r8 bes,4.-> |
  c4-. r8 c8 d4( bes,8 aes,) | c2-> r2 |
  % B, bars 19-26
  c1\mp | r2 r8 f8-. ees4-. |
  bes,1 | r2 r8 g8-. f4-. |
  bes,1 | r2 r8 g8-. ees4-. |
  a,2( c) | d4-. r4 r2 |
  % C, bars 27-34
  r8 c(\mf d f a4-.) f8( d) | fis8( d4-.) c8-> ~ c2 |
  r8 d( f g bes4-.) g8( f) | g8( e4-.) bes,8-> ~ bes,2 |
  r8 a8-> ~ a4 a8( a4-.) fis8 | f8( g4-.) f8 ~ f4 c4-. |
  c4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  R1*16\cue "Tenor solo (open)" |
  % E, bars 51-58: backgrounds on cue
  bes2.(\p\onCue g4) | ees2.( a4) |
  a1 ~ | a2 r2 |
  aes2.( aes4) | g2.( des4) |
  g2( c) | f2-> r2 |
  % F, bars 59-66
  R1*7 |
  r2 r8 bes8-.\f g4-^ |
  % G, bars 67-82: shout
  R1 | r2 r8 d(\f fis a |
  bes4-.) r4 r2 | r2 r8 e( g bes |
  c'4-.) r4 r2 | r2 r8 a( g e) |
  r4 e8( g a c' ees' d') | bes4-. r4 r2 |
  R1 | r2 r8 d( fis a |
  bes4-.) r4 r2 | r2 r8 e( g bes |
  c'4-.) r4 r2 | r2 r8 e( g e) |
  f4-^ r4 r8 aes4.-> | f4-^ r4 r2 |
  % H, bars 83-90
  c8(\f d ees f g4-.) bes8( g) | a4-. c'8-. a8-> r2 |
  bes,8( c d f g4-.) bes8( g) | b4-. d'8-. b8-> r2 |
  f4-> d8-. f8-> r8 fis4.-> | g4-> f8-. g8-> r8 bes4.-> |
  g4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  r8 a8->\f ~ a4 a8( a4-.) fis8 | f8( g4-.) f8 ~ f4 c4-. |
  r8 c'8-> ~ c'4 c'8( a4-.) fis8 | g8( bes4-.) f8 ~ f4 e4-. |
  r8 a8-> ~ a4 a8( a4-.) fis8 | f8( g4-.) bes,8 ~ bes,4 c4-. |
  c4-. r4 r2 | r4 r8 c'8-^ r2 |
}

tenor = \fixed c' {
  \override Score.SpacingSpanner.shortest-duration-space = #3
  % Intro, bars 1-8
  R1*6 |
  r2 r8 d8-.\mf c4-. | d8-. f4-> d8-. e4-^ r4 |
  % A, bars 9-18
  r8 a,(\mf c d f4-.) d8( c) | d8( c4-.) a,8-> ~ a,2 |
  r8 bes,( d f g4-.) f8( d) | e8( c4-.) g,8-> ~ g,2 |
  r8 g8-> ~ g4 fis8( fis4-.) d8 | d8( f4-.) d8 ~ d4 bes,4-. |
  g,8( a, c e fis4-.) fis8( ees) | d4-. bes,-. r8 g,4.-> |
  a,4-. r8 a,8 bes,4( aes,8 f,) | a,2-> r2 |
  % B, bars 19-26
  bes,1\mp | r2 r8 ees8-. c4-. |
  a,1 | r2 r8 f8-. d4-. |
  aes,1 | r2 r8 ees8-. des4-. |
  g,2( a,) | bes,4-. r4 r2 |
  % C, bars 27-34
  r8 a,(\mf c d f4-.) d8( c) | d8( c4-.) a,8-> ~ a,2 |
  r8 bes,( d f g4-.) f8( d) | e8( c4-.) g,8-> ~ g,2 |
  r8 g8-> ~ g4 fis8( fis4-.) d8 | d8( f4-.) d8 ~ d4 bes,4-. |
  a,4-^\f r4 r2 | \slashes 1 4 |
  % D, bars 35-50: tenor solo
  <>\cue "Solo (open)" \slashes 16 4 |
  % E, bars 51-58: backgrounds on cue
  \slashes 8 4 |
  % F, bars 59-66
  \slashes 8 4 |
  % G, bars 67-82: shout
  R1 | r2 r8 d,(\f fis, a, |
  bes,4-.) r4 r2 | r2 r8 e,( g, bes, |
  c4-.) r4 r2 | r2 r8 a,( g, e,) |
  r4 e,8( g, a, c ees d) | bes,4-. r4 r2 |
  R1 | r2 r8 d,( fis, a, |
  bes,4-.) r4 r2 | r2 r8 e,( g, bes, |
  c4-.) r4 r2 | r2 r8 e,( g, e,) |
  d4-^ r4 r8 f4.-> | d4-^ r4 r2 |
  % H, bars 83-90
  c8(\f d ees f g4-.) bes8( g) | a4-. c'8-. a8-> r2 |
  bes,8( c d f g4-.) bes8( g) | b4-. d'8-. b8-> r2 |
  d4-> c8-. d8-> r8 d4.-> | f4-> d8-. f8-> r8 g4.-> |
  e4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  r8 g8->\f ~ g4 fis8( fis4-.) d8 | d8( f4-.) d8 ~ d4 bes,4-. |
  r8 a8-> ~ a4 a8( fis4-.) d8 | f8( g4-.) d8 ~ d4 c4-. |
  r8 g8-> ~ g4 fis8( fis4-.) d8 | d8( f4-.) g,8 ~ g,4 bes,4-. |
  a,4-. r4 r2 | r4 r8 a8-^ r2 |
}

bari = \fixed c' {
  % Intro, bars 1-8
  R1*6 |
  r2 r8 a,8-.\mf fis,4-. | g,8-. bes,4-> g,8-. bes,4-^ r4 |
  % A, bars 9-18
  r8 d,(\mf f, a, c4-.) a,8( f,) | a,8( fis,4-.) d,8-> ~ d,2 |
  r8 f,( g, bes, d4-.) bes,8( g,) | bes,8( g,4-.) c,8-> ~ c,2 |
  r8 c8-> ~ c4 c8( c4-.) a,8 | g,8( bes,4-.) g,8 ~ g,4 e,4-. |
  c,8( e, g, a, c4-.) c8( a,) | g,4-. f,-. r8 c,4.-> |
  d,4-. r8 d,8 f,4( d,8 bes,,) | d,2-> r2 |
  % B, bars 19-26
  ees,1\mp | r2 r8 a,8-. f,4-. |
  d,1 | r2 r8 bes,8-. g,4-. |
  des,1 | r2 r8 bes,8-. g,4-. |
  c,2( d,) | f,4-. r4 r2 |
  % C, bars 27-34
  r8 d,(\mf f, a, c4-.) a,8( f,) | a,8( fis,4-.) d,8-> ~ d,2 |
  r8 f,( g, bes, d4-.) bes,8( g,) | bes,8( g,4-.) c,8-> ~ c,2 |
  r8 c8-> ~ c4 c8( c4-.) a,8 | g,8( bes,4-.) g,8 ~ g,4 e,4-. |
  d,4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  R1*16\cue "Tenor solo (open)" |
  % E, bars 51-58: backgrounds on cue
  ees,2.(\p\onCue ees,4) | c,2.( ees,4) |
  f,1 ~ | f,2 r2 |
  f,2.( des,4) | des,2.( bes,,4) |
  c,2( a,,) | d,2-> r2 |
  % F, bars 59-66
  R1*7 |
  r2 r8 f,8-.\f e,4-^ |
  % G, bars 67-82: shout
  R1 | r2 r8 d,(\f fis, a, |
  bes,4-.) r4 r2 | r2 r8 e,( g, bes, |
  c4-.) r4 r2 | r2 r8 a,( g, e,) |
  r4 e,8( g, a, c ees d) | bes,4-. r4 r2 |
  R1 | r2 r8 d,( fis, a, |
  bes,4-.) r4 r2 | r2 r8 e,( g, bes, |
  c4-.) r4 r2 | r2 r8 e,( g, e,) |
  a,4-^ r4 r8 bes,4.-> | a,4-^ r4 r2 |
  % H, bars 83-90
  c,8(\f d, ees, f, g,4-.) bes,8( g,) | a,4-. c8-. a,8-> r2 |
  bes,,8( c, d, f, g,4-.) bes,8( g,) | b,4-. d8-. b,8-> r2 |
  a,4-> f,8-. a,8-> r8 a,4.-> | bes,4-> g,8-. bes,8-> r8 c4.-> |
  bes,4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  r8 c8->\f ~ c4 c8( c4-.) a,8 | g,8( bes,4-.) g,8 ~ g,4 e,4-. |
  r8 e8-> ~ e4 d8( c4-.) a,8 | bes,8( d4-.) g,8 ~ g,4 g,4-. |
  r8 c8-> ~ c4 c8( c4-.) a,8 | g,8( bes,4-.) d,8 ~ d,4 e,4-. |
  d,4-. r4 r2 | r4 r8 d8-^ r2 |
}

trumpetOne = \fixed c' {
  % Intro, bars 1-8
  R1*4 |
  r4 a8-.\mf c'8-> ~ c'4 r8 a8-. | d'4-. r8 bes8-> ~ bes4 r4 |
  r4 c'8-. d'8-> ~ d'4 r8 c'8-. | d'8-. f'4-> d'8-. e'4-^ r4 |
  % A, bars 9-18
  R1 | r2 r8 c'8-.\mf a4-. |
  R1 | r2 r8 d'8-. bes4-. |
  R1 | r2 r4 e'4-^ |
  R1 | r2 r8 c'4.-> |
  r2 r8 d'4.-> | c'4-. r4 r4 c'8(\f d') |
  % B, bars 19-26
  ees'2. c'8( d') | ees'4( c'4-.) a2 |
  d'2. bes8( c') | d'4( bes-.) g2 |
  des'2. bes8( c') | des'4( bes-.) g2 |
  c'4-. a8( c') ~ c'4 a4-. | a8( g4-.) bes8 ~ bes4 r4 |
  % C, bars 27-34
  R1 | r2 r8 c'8-. a4-. |
  R1 | r2 r8 d'8-. bes4-. |
  R1 | r2 r4 e'4-^ |
  c'4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  R1*16\cue "Tenor solo (open)" |
  % E, bars 51-58: backgrounds on cue
  R1*8 |
  % F, bars 59-66
  r4 c'8-.\mp\onCue c'8-> r2 | r4 c'8-. c'8-> r2 |
  r4 d'8-. d'8-> r2 | r4 e'8-. e'8-> r2 |
  e'2->( ees'2) | d'2->( bes2) |
  c'4-. r4 r2 | r2 r8 d'8-.\f c'4-^ |
  % G, bars 67-82: shout
  f'4-^\f r8 d'8-> ~ d'4 c'8-. a8-> ~ | a4 r8 c'8-> ~ c'2 |
  g'4-^ r8 f'8-> ~ f'4 d'8-. bes8-> ~ | bes4 r8 d'8-> ~ d'2 |
  e'4-. g'8-. e'8-> r8 ees'4.-> | d'4-. f'8-. d'8-> r8 a'4.-> |
  g'4-^ r4 r8 ees'8-. c'4-. | d'8-. bes4-> g8 ~ g4 r4 |
  f'4-^ r8 d'8-> ~ d'4 c'8-. a8-> ~ | a4 r8 c'8-> ~ c'2 |
  g'4-^ r8 f'8-> ~ f'4 d'8-. bes8-> ~ | bes4 r8 d'8-> ~ d'4 f'8-. e'8-. |
  e'4-. g'8-. e'8-> r8 ees'4.-> | d'8-. f'4-> a'8-> ~ a'2 |
  f'4-^ r4 r8 aes'4.-> | f'4-^ r4 r2 |
  % H, bars 83-90
  R1 | r2 r8 c'8-> ~ c'4 |
  R1 | r2 r8 f'8-> ~ f'4 |
  c'4-> a8-. c'8-> r8 c'4.-> | d'4-> bes8-. d'8-> r8 e'4.-> |
  g'4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  R1 | r2 r4 e'4-^\f |
  R1 | r2 r4 e'4-^ |
  e'2->( ees') | d'2->( bes2) |
  c'4-. r4 r2 | r4 r8 f'8-^ r2 |
}

trumpetTwo = \fixed c' {
  % Intro, bars 1-8
  R1*4 |
  r4 f8-.\mf a8-> ~ a4 r8 fis8-. | bes4-. r8 g8-> ~ g4 r4 |
  r4 a8-. a8-> ~ a4 r8 a8-. | bes8-. d'4-> bes8-. c'4-^ r4 |
  % A, bars 9-18
  R1 | r2 r8 a8-.\mf fis4-. |
  R1 | r2 r8 bes8-. g4-. |
  R1 | r2 r4 c'4-^ |
  R1 | r2 r8 g4.-> |
  r2 r8 bes4.-> | a4-. r4 r4 a8(\f a) |
  % B, bars 19-26
  c'2. g8( bes) | c'4( a4-.) f2 |
  bes2. f8( a) | bes4( g-.) d2 |
  bes2. f8( aes) | bes4( g-.) ees2 |
  a4-. e8( a) ~ a4 fis4-. | f8( d4-.) g8 ~ g4 r4 |
  % C, bars 27-34
  R1 | r2 r8 a8-. fis4-. |
  R1 | r2 r8 bes8-. g4-. |
  R1 | r2 r4 c'4-^ |
  a4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  R1*16\cue "Tenor solo (open)" |
  % E, bars 51-58: backgrounds on cue
  R1*8 |
  % F, bars 59-66
  r4 a8-.\mp\onCue a8-> r2 | r4 a8-. a8-> r2 |
  r4 bes8-. bes8-> r2 | r4 c'8-. c'8-> r2 |
  c'2->( c'2) | bes2->( g2) |
  a4-. r4 r2 | r2 r8 bes8-.\f g4-^ |
  % G, bars 67-82: shout
  d'4-^\f r8 a8-> ~ a4 a8-. f8-> ~ | f4 r8 a8-> ~ a2 |
  d'4-^ r8 d'8-> ~ d'4 bes8-. g8-> ~ | g4 r8 bes8-> ~ bes2 |
  c'4-. e'8-. c'8-> r8 c'4.-> | bes4-. d'8-. bes8-> r8 e'4.-> |
  e'4-^ r4 r8 c'8-. a4-. | bes8-. g4-> d8 ~ d4 r4 |
  d'4-^ r8 a8-> ~ a4 a8-. f8-> ~ | f4 r8 a8-> ~ a2 |
  d'4-^ r8 d'8-> ~ d'4 bes8-. g8-> ~ | g4 r8 bes8-> ~ bes4 c'8-. c'8-. |
  c'4-. e'8-. c'8-> r8 c'4.-> | bes8-. d'4-> f'8-> ~ f'2 |
  d'4-^ r4 r8 f'4.-> | d'4-^ r4 r2 |
  % H, bars 83-90
  R1 | r2 r8 a8-> ~ a4 |
  R1 | r2 r8 d'8-> ~ d'4 |
  a4-> f8-. a8-> r8 a4.-> | bes4-> g8-. bes8-> r8 c'4.-> |
  e'4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  R1 | r2 r4 c'4-^\f |
  R1 | r2 r4 c'4-^ |
  c'2->( c') | bes2->( g2) |
  a4-. r4 r2 | r4 r8 d'8-^ r2 |
}

trombone = \fixed c' {
  % Intro, bars 1-8
  R1*4 |
  r4 d,8-.\mf f,8-> ~ f,4 r8 d,8-. | g,4-. r8 f,8-> ~ f,4 r4 |
  r4 f,8-. f,8-> ~ f,4 r8 fis,8-. | g,8-. bes,4-> g,8-. bes,4-^ r4 |
  % A, bars 9-18
  R1 | r2 r8 fis,8-.\mf d,4-. |
  R1 | r2 r8 g,8-. e,4-. |
  R1 | r2 r4 bes,4-^ |
  R1 | r2 r8 e,4.-> |
  r2 r8 aes,4.-> | f,4-. r4 r4 f,8(\f f,) |
  % B, bars 19-26
  bes,2. ees,8( g,) | a,4( f,4-.) ees,2 |
  a,2. d,8( f,) | g,4( f,-.) bes,,2 |
  aes,2. des,8( f,) | g,4( ees,-.) des,2 |
  g,4-. c,8( g,) ~ g,4 d,4-. | d,8( bes,,4-.) f,8 ~ f,4 r4 |
  % C, bars 27-34
  R1 | r2 r8 fis,8-. d,4-. |
  R1 | r2 r8 g,8-. e,4-. |
  R1 | r2 r4 bes,4-^ |
  f,4-^\f r4 r2 | R1 |
  % D, bars 35-50: tenor solo
  R1*16\cue "Tenor solo (open)" |
  % E, bars 51-58: backgrounds on cue
  R1*8 |
  % F, bars 59-66
  r4 f,8-.\mp\onCue f,8-> r2 | r4 fis,8-. fis,8-> r2 |
  r4 g,8-. g,8-> r2 | r4 bes,8-. bes,8-> r2 |
  a,2->( a,2) | g,2->( e,2) |
  f,4-. r4 r2 | r2 r8 g,8-.\f e,4-^ |
  % G, bars 67-82: shout
  c4-^\f r8 f,8-> ~ f,4 f,8-. d,8-> ~ | d,4 r8 fis,8-> ~ fis,2 |
  bes,4-^ r8 bes,8-> ~ bes,4 g,8-. f,8-> ~ | f,4 r8 g,8-> ~ g,2 |
  a,4-. c8-. a,8-> r8 a,4.-> | g,4-. bes,8-. g,8-> r8 c4.-> |
  c4-^ r4 r8 a,8-. fis,4-. | g,8-. f,4-> bes,,8 ~ bes,,4 r4 |
  c4-^ r8 f,8-> ~ f,4 f,8-. d,8-> ~ | d,4 r8 fis,8-> ~ fis,2 |
  bes,4-^ r8 bes,8-> ~ bes,4 g,8-. f,8-> ~ | f,4 r8 g,8-> ~ g,4 bes,8-. bes,8-. |
  a,4-. c8-. a,8-> r8 a,4.-> | g,8-. bes,4-> d8-> ~ d2 |
  c4-^ r4 r8 d4.-> | c4-^ r4 r2 |
  % H, bars 83-90
  R1 | r2 r8 f,8-> ~ f,4 |
  R1 | r2 r8 b,8-> ~ b,4 |
  f,4-> d,8-. f,8-> r8 fis,4.-> | g,4-> f,8-. g,8-> r8 bes,4.-> |
  c4-^ r4 r2 | R1 |
  % Coda, bars 91-98
  R1 | r2 r4 bes,4-^\f |
  R1 | r2 r4 bes,4-^ |
  a,2->( a,) | g,2->( e,2) |
  f,4-. r4 r2 | r4 r8 c8-^ r2 |
}

