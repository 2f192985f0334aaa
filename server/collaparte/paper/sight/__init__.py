"""What is seen on a page: strokes and words to staves, bars, marks, rests, signs. Pure."""
