%% The Lamp You Left On: reeds and brass, at concert pitch. Second trumpet is tacet.
\version "2.25.12"

altoOne = \fixed c' {
  % Intro, bars 1-4
  r4 g4(\p bes d' | ees'2. d'8 c') |
  c'4( aes2 g8 f) | g2( f4) r4 |
  % A, bars 5-12
  R1*4\cue "Vocal" |
  bes2(\p des'4 c') | aes2( g4 f) |
  g2( bes) | aes2.( g4) |
  % B, bars 13-20
  bes1\p | bes2.( c'4) |
  aes1 | aes2.( bes4) |
  d'2( des') | c'2( aes) |
  g1\< | f2( des'4\mp c') |
  % C, bars 21-28
  c'2.(\mp ees'4) | ces'2.( ees'4) |
  d'2( bes4 g) | bes2( des') |
  c'2.( ees'4) | ees'2( d'4 c') |
  d'2( bes) | aes2( bes4) r4 |
  % D, bars 29-36
  R1*2 | r2 r8 c'8(\p ees' g' |
  f'4. d'8 ~ d'4) r4 |
  bes2(\p des'4 c') | aes2( g4 f) |
  g2.( bes4 | c'2.) r4 |
  % E, bars 37-40: band soli into the new key
  c'4(\f ees' g' f') | ees'4( ces' aes f) |
  bes4( d' des' c') | bes2\< c'2 |
  % F, bars 41-48
  c'2.(\f e'4) | f'2( e'4 c') |
  d'2.( f'4) | e'2( d'4 bes) |
  c'4( e' ees' d') | bes2( c'4 d') |
  c'2(\> a) | bes2( g4)\! r4 |
  % G, bars 49-52
  c'2(\mp ees'4 d') | bes2( f) |
  d'2(\> des') | c'1\p\fermata |
}

altoTwo = \fixed c' {
  % Intro, bars 1-4
  r4 d4(\p ees g | bes2. bes8 g) |
  f4( ees2 d8 bes,) | d2( bes,4) r4 |
  % A, bars 5-12
  R1*4\cue "Vocal" |
  f2(\p g4 g) | ees2( d4 bes,) |
  d2( ees) | ees2.( d4) |
  % B, bars 13-20
  ees1\p | ees2.( g4) |
  ees1 | d2.( f4) |
  g2( g) | f2( d) |
  c1\< | bes,2( g4\mp g) |
  % C, bars 21-28
  g2.(\mp aes4) | f2.( aes4) |
  g2( ees4 c) | f2( g) |
  f2.( aes4) | a2( a4 fis) |
  g2( e) | ees2( f4) r4 |
  % D, bars 29-36
  R1*4 |
  f2(\p g4 g) | ees2( d4 bes,) |
  c2.( ees4 | g2.) r4 |
  % E, bars 37-40: band soli into the new key
  g4(\f aes c' aes) | aes4( f ees ces) |
  f4( g g g) | f2\< g2 |
  % F, bars 41-48
  f2.(\f a4) | c'2( c'4 f) |
  g2.( bes4) | bes2( g4 e) |
  g4( a a a) | f2( g4 g) |
  f2(\> d) | f2( c4)\! r4 |
  % G, bars 49-52
  g2(\mp a4 a) | f2( bes,) |
  a2(\> g) | f1\p\fermata |
}

tenor = \fixed c' {
  % Intro, bars 1-4
  r4 bes,4(\p d ees | g2. g8 ees) |
  ees4( c2 bes,8 aes,) | bes,2( aes,4) r4 |
  % A, bars 5-12
  R1*4\cue "Vocal" |
  d2(\p e4 e) | c2( bes,4 aes,) |
  bes,2( c) | c2.( bes,4) |
  % B, bars 13-20
  d1\p | c2.( ees4) |
  c1 | bes,2.( d4) |
  f2( e) | ees2( bes,) |
  bes,1\< | aes,2( ees4\mp ees) |
  % C, bars 21-28
  ees2.(\mp g4) | ees2.( f4) |
  f2( c4 bes,) | d2( e) |
  ees2.( f4) | g2( fis4 d) |
  f2( c) | c2( d4) r4 |
  % D, bars 29-36
  R1*4 |
  d2(\p e4 e) | c2( bes,4 aes,) |
  bes,2.( c4 | ees2.) r4 |
  % E, bars 37-40: band soli into the new key
  ees4(\f g aes g) | f4( ees ces aes,) |
  d4( f e e) | d2\< e2 |
  % F, bars 41-48
  e2.(\f f4) | a2( a4 d) |
  f2.( g4) | g2( e4 c) |
  e4( g fis fis) | d2( e4 e) |
  e2(\> c) | d2( bes,4)\! r4 |
  % G, bars 49-52
  e2(\mp fis4 fis) | d2( g,) |
  f2(\> f) | e1\p\fermata |
}

bari = \fixed c' {
  % Intro, bars 1-4
  r4 ees,4(\p g, bes, | c2. c8 bes,) |
  aes,4( f,2 f,8 d,) | ees,2( d,4) r4 |
  % A, bars 5-12
  R1*4\cue "Vocal" |
  g,2(\p bes,4 bes,) | f,2( f,4 d,) |
  ees,2( g,) | f,2.( f,4) |
  % B, bars 13-20
  g,1\p | g,2.( bes,4) |
  f,1 | f,2.( aes,4) |
  bes,2( bes,) | aes,2( f,) |
  ees,1\< | des,2( bes,4\mp bes,) |
  % C, bars 21-28
  aes,2.(\mp c4) | aes,2.( ces4) |
  bes,2( g,4 ees,) | g,2( bes,) |
  aes,2.( c4) | c2( c4 a,) |
  bes,2( g,) | f,2( aes,4) r4 |
  % D, bars 29-36
  R1*4 |
  g,2(\p bes,4 bes,) | f,2( f,4 d,) |
  ees,2.( g,4 | bes,2.) r4 |
  % E, bars 37-40: band soli into the new key
  aes,4(\f c ees c) | ces4( aes, f, ees,) |
  g,4( bes, bes, bes,) | g,2\< bes,2 |
  % F, bars 41-48
  a,2.(\f c4) | d2( d4 a,) |
  bes,2.( d4) | c2( bes,4 g,) |
  a,4( c c c) | g,2( bes,4 bes,) |
  a,2(\> f,) | g,2( e,4)\! r4 |
  % G, bars 49-52
  a,2(\mp c4 c) | g,2( c,) |
  bes,2(\> bes,) | a,1\p\fermata |
}

trumpetOne = \fixed c' {
  % Intro, bars 1-4
  R1*4 |
  % A, bars 5-12
  R1*8 |
  % B, bars 13-20
  R1*2 |
  r4 c'4(\p d' ees' | d'2.) r4 |
  R1*2 |
  r8 ees'8( f' g' ~ g'4 f'8 ees') | des'2.\mp r4 |
  % C, bars 21-28
  ees'1\mp | f'2.( ees'4) |
  d'2( ees') | f'2( e') |
  ees'2.( c'4) | ees'2( fis') |
  g'2( e') | ees'2( d'4) r4 |
  % D, bars 29-36
  R1*8 |
  % E, bars 37-40: band soli into the new key
  ees'1\f | f'2.( ees'4) |
  f'2( e') | d'2\< e'2 |
  % F, bars 41-48
  e'1\f | f'1 |
  f'1 | e'2( d') |
  e'2( fis') | f'2( e') |
  e'2(\> f') | f'2( e'4)\! r4 |
  % G, bars 49-52
  e'2(\mp ees') | d'2( c') |
  d'2(\> des') | c'1\p\fermata |
}

trombone = \fixed c' {
  % Intro, bars 1-4
  R1*4 |
  % A, bars 5-12
  R1*8 |
  % B, bars 13-20
  R1*2 |
  r4 f,4(\p f, aes, | aes,2.) r4 |
  R1*2 |
  r8 bes,8( bes, c ~ c4 bes,8 bes,) | aes,2.\mp r4 |
  % C, bars 21-28
  aes,1\mp | aes,2.( aes,4) |
  g,2( bes,) | bes,2( bes,) |
  aes,2.( f,4) | a,2( c) |
  bes,2( bes,) | aes,2( aes,4) r4 |
  % D, bars 29-36
  R1*8 |
  % E, bars 37-40: band soli into the new key
  aes,1\f | aes,2.( aes,4) |
  bes,2( bes,) | g,2\< bes,2 |
  % F, bars 41-48
  a,1\f | c1 |
  bes,1 | bes,2( g,) |
  a,2( c) | bes,2( bes,) |
  a,2(\> c) | bes,2( bes,4)\! r4 |
  % G, bars 49-52
  a,2(\mp a,) | g,2( f,) |
  a,2(\> g,) | f,1\p\fermata |
}

