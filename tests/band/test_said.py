"""What is said across a room, as it was written down with what it means before anything heard it (common practice).

The tune and its order are those of `test_places`: a pickup; A 1, B 9, C 20, D 29, Verse 2 33; 9 to 17 repeated with
endings at 16 and 18; segno 9, To Coda behind 24, D.S. al Coda behind 36, coda 37. "14/2": bar 14, second time.
"""

import pytest

from band.bands import Band
from collaparte.band.decide import decide
from collaparte.band.roles import EVERY_ROLE, Refusal
from collaparte.band.state import State
from collaparte.music import places
from collaparte.wire import commands as c
from collaparte.wire.edits import Cut
from collaparte.wire.events import EditMade
from music.test_places import ORDER, TUNE

PLACES = """
from C|20
everybody at C|20
can we go from C|20
let's go from letter C|20
C please|20
take it at C|20
once more from C|20
again from C|20
one more time from C|20
back to C|20
back at C|20
go back to C|20
start at C|20
start from bar 20|20
pick it up at C|20
pick it up from C|20
we'll take it from D|29
right, from D|29
from D everyone|29
from D everybody|29
all from D|29
just D|29
only D|29
letter D as in dog|?
D for dog|?
rehearsal letter D|29
at rehearsal mark D|29
figure D|29
the D|29
D section|29
section D|29
bar 33 please|33
thirty three|33
bar thirty three|33
measure thirty-three|33
m.33|33
b. 12|12
bar no. 12|12
bar number 12|12
number 12|12
bar twelve|12
twelve|12
bar 0|0
pick-up|0
the upbeat|0
with the pickup|0
from the pickup|0
top|0
from the top|0
the very top|0
from the top please|0
top of the tune|0
head|0
from the beginning|0
the start|0
beginning of the chart|0
four bars before C|14/2
4 before C|14/2
4 bars from C|?
4 bars back from C|14/2
four ahead of C|14/2
a bar before C|19
one bar before C|19
one before C|19
two before D|27
2 bars before letter D|27
two bars ahead of D|27
the bar before D|28
bar before D|28
just before D|28
right before D|28
second bar before D|27
D minus two|27
D-2|27
four after D|33
4 past D|33
four bars into D|33
4 bars after D|33
four bars in at D|33
D plus four|33
D+4|33
bar 4 of D|32
4th bar of D|32
fourth bar of D|32
the fourth bar of letter D|32
fourth measure of D|32
second bar of D|30
second bar at D|30
second bar in D|30
bar two of D|30
bar 2 at D|30
D bar 2|30
D second bar|30
first bar of D|29
last bar of D|32
last bar of C|28
the last bar before D|28
last two of C|27
last 2 bars of C|27
the last four of C|25
last four bars of letter C|25
next to last bar of C|27
second to last bar of C|27
penultimate bar|39
last bar|40
the very last bar|40
final bar|40
last chord|?
last 4|37
last four bars|37
final four|37
last eight|21/2
last eight bars|21/2
four from the end|37
4 bars from the end|37
eighth bar from the end|21/2
pickup to D|28
pickups into D|28
the pickup into C|19
pick up to verse 2|32
with the pickup to D|28
upbeat to D|28
first ending|16
the first ending|16
1st ending|16
first time bar|16
1st time bars|16
first volta|16
second ending|18
2nd ending|18
second time bar|18
second time bars|18
2nd time bar|18
second bar of the second ending|19
last bar of the first ending|17
the bar before the second ending|15/2
two before the first ending|14
segno|9
the sign|9
from the sign|9
at the segno|9
D.S.|9/3
dal segno|9/3
from the D.S.|9/3
on the D.S.|9/3
the coda|37
coda|37
from the coda|37
at the coda|37
top of the coda|37
second bar of the coda|38
two bars into the coda|39
last bar of the coda|40
bar before the coda|36
2 before the coda|35
To Coda|37
the to coda sign|?
verse two|33
second verse|33
verse 2 please|33
Verse 2 second bar|34
two before verse 2|31
last two bars of verse 2|35
C second time|20/2
second time C|20/2
second time at C|20/2
2nd time through C|20/2
C the second time|20/2
C second time around|20/2
C, 2nd x|20/2
C on the D.S.|20/2
C after the D.S.|20/2
B on the repeat|9/2
B the second time|9/2
B third time|9/3
B last time|9/3
last time at B|9/3
repeat of B|9/2
bar 12 second time|12/2
bar 12 on the repeat|12/2
4 before C second time|14/3
third bar of C second time|22/2
letter c|20
c|20
charlie|?
middle of C|?
end of C|?
end|?
fine|?
bar 99|?
E|?
D sharp|?
halfway through D|?
C again|?
letter C again|?
D again|29
C 2x|?
repeat C twice|?
C twice|?
cut the D.S.|?
skip the D|?
no repeats|?
vamp 2 bars before D|?
vamp at D|?
page 2|?
four bars at C|?
-4|?
take the second ending|18
next to last bar of D|31
from the repeat sign|?
tag the ending|?
the repeat|?
second bar|2
thirty-third bar|33
second last bar|39
4 after the D.S.|13/3
4 bars after the DS|13/3
one more time at D|29
skip to D|?
the break|?
solos|?
four before|?
C or D|?
C two bars in|22
two bars in to C|22
two bars before the D.S.|35
the bar of the D.S.|?
where the D.S. is|?
bar before the repeat|17
one before the end|40
"""
"""A line a saying, with the bar and its time through; "?" where one sentence asks back."""

STRETCHES = """
C to D|20 29
from C to D|20 29
C through D|20 29
C thru D|20 29
C up to D|20 29
C until D|20 29
C till D|20 29
between C and D|20 29
from letter C to letter D|20 29
letter C to D|20 29
all of C|20 29
the whole of C|20 29
whole C|20 29
the whole C section|20 29
C section|?
everything from C to D|20 29
bars 20 to 28|20 29
bars 20-28|20 29
bar 20 to bar 28|20 29
20-28|20 29
20 to 28|20 29
from bar 20 through 28|20 29
bars 20 through 28|20 29
bars 20 and 21|20 22
bar 20 only|20 21
just bar 20|20 21
measures 20 to 28|20 29
mm. 20-28|20 29
last 4 of C|25 29
the last four bars of C|25 29
first four of C|20 24
first 4 bars of C|20 24
the first four bars of D|29 33
the first two of D|29 31
second half of C|?
4 before C to C|14 20
four before D to D|25 29
from 4 before C to D|14 29
from C to 4 before D|20 25
C to the end|20 end
C only|20 29
D second time to verse 2|?
C third time to D|?
D to verse 2 second time|?
everything before C|0 20
between bars 20 and 28|20 29
the whole tune|?
bars five to eight|5 9
bars 20 to 28 on the D.S.|20 29 p2
the last 8 bars of the tune|21 end p2
cut to the coda|?
two bars of C|?
second time through C|?
pick it up at C|?
back to C|?
cut C to D|?
last time through C|?
C to end|20 end
from D on|29 end
D onwards|29 end
everything after D|29 end
D to the coda|29 37
the coda|37 end
all of the coda|37 end
the whole coda|37 end
last 8|21 end p2
last four bars|37 end
the last 4|37 end
the pickup|0 1
first ending|16 18
the first ending|16 18
second ending|18 20
the second ending|18 20
top to A|0 1
from the top to B|0 9
the top to C|0 20
A to B|1 9
all of A|1 9
intro to A|?
B to the second ending|9 18
B to second ending|9 18
the segno to the coda|9 37
C to D second time|20 29 p2
C second time to D|20 29 p2
all of C second time|20 29 p2
all of C, second time only|20 29 p2
bars 20-28 second time|20 29 p2
verse 2 to the coda|33 37
verse 2|?
all of verse 2|33 37
D to verse 2|29 33
second bar of C to D|21 29
third bar of C to third bar of D|22 31
C and D|?
bars 20 and 25|?
"""
"""With the first bar, the one up to which it goes, and the times through that are meant."""


def sayings(table: str) -> list[list[str]]:
    return [line.split("|") for line in table.strip().splitlines()]


@pytest.mark.parametrize(("words", "meant"), sayings(PLACES))
def test_a_place(words: str, meant: str) -> None:
    try:
        found = places.resolve(words, TUNE, ORDER)
        heard = f"{int(found.bar[1:]) - 1}" + (f"/{found.pass_}" if found.pass_ > 1 else "")
    except places.PlaceError as error:
        assert str(error).endswith(".")
        heard = "?"
    assert heard == meant


@pytest.fixture(scope="module")
def state() -> State:
    band = Band()
    band.do(c.AddTune("tune", "Tune"))
    band.do(c.MintRuler("tune", TUNE))
    return band.state


@pytest.mark.parametrize(("words", "meant"), sayings(STRETCHES))
def test_a_stretch_that_is_cut(words: str, meant: str, state: State) -> None:
    decided = decide(state, c.SayEdit("e", "tune", "cut", words, ""), EVERY_ROLE, state.position.call)
    if isinstance(decided, Refusal):
        assert meant == "?" and decided.why.endswith("."), decided.why
        return
    (made,) = decided
    assert isinstance(made, EditMade) and isinstance(made.edit.what, Cut)
    cut = made.edit.what
    until = int(cut.until[1:]) - 1 if cut.until else "end"
    assert f"{int(cut.first[1:]) - 1} {until}{''.join(f' p{time}' for time in cut.passes)}" == meant
