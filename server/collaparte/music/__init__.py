"""Bars, the ruler, places, form, edits and played order. Pure.

- `form.written_order(chart) -> Written`: the bars as the signs have them played, or as printed with a diagnosis.
- `played.evaluate(written, bars, edits) -> Played`: what a set of edits makes of it.
- `places.resolve(words, chart, order, left_out) -> Found`, `places.say(chart, bar)`: "4 before C" and back.
- `ruler.fault(chart)`: what makes a chart unusable, in a sentence.
"""
