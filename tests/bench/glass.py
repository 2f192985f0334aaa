"""A cut until it is seen, in a real browser: on the page's own clock, which is the machine's."""

import asyncio
import shutil
import time
from typing import Any

from bench.ratios import Figure
from bench.rooms import TUNE, Room
from collaparte.wire.commands import Call, MakeCut, TakeBackEdit
from collaparte_client import join
from e2e.stage import HubProcess, Stage, browser_for

NAMES = ("chromium", "chromium-browser", "google-chrome")

_TWO_FRAMES = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
_WATCH = (
    """async ({tune, revision}) => {
  const { app } = await import('/tablet/app.js');
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const since = performance.now();
  await """
    + _TWO_FRAMES
    + """;
  const frames = performance.now() - since;
  window.cutSeen = (async () => {
    const old = new Set(document.querySelectorAll('.slip'));
    while (![...document.querySelectorAll('.slip')].some((one) => !old.has(one))) await frame();
    await frame();
    const slip = Date.now();
    const { chair } = app.reader.place;
    const laid = () => app.reader.shelf.copies(tune, chair).some((copy) => copy.revision === revision && copy.laying);
    while (!laid()) await frame();
    return { slip, laid: Date.now() };
  })();
  return frames;
}"""
)


def browser() -> str | None:
    """A Chromium on this machine."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


async def cut_glass(room: Room, runs: int) -> Figure:
    """A cut until a stand has painted its slip (and shaded what is cut), against two frames of the same browser."""
    figure = Figure("cut_glass", [], [], "", "a cut until it is painted / two frames of the browser")
    codes = room.settings.codes
    where = f"127.0.0.1:{room.settings.ports.http}"
    tune = room.tunes[TUNE]
    async with browser_for(room.settings) as chromium:
        stand = await Stage(HubProcess(room.folder, room.settings), chromium).sit("Alto 1")
        async with join(where, codes.join, codes=(codes.leader, codes.md)) as md:
            await md.do(Call(tune))
            await stand.until(tune=tune, page="0", glass="shown", complete="true")
            laid: list[float] = []
            for n in range(runs + 1):
                edit = f"glass-{n}"
                wanted: dict[str, Any] = {"tune": tune, "revision": md.tunes[tune].revision + 1}
                frames = await stand.page.evaluate(_WATCH, wanted)
                began = time.time()
                await md.do(MakeCut(edit, tune, f"bar {7 + n}", f"bar {20 + n}"))
                seen = await stand.page.evaluate("window.cutSeen")
                await md.do(TakeBackEdit(edit))
                await asyncio.sleep(0.3)
                await stand.until(complete="true")
                if n:
                    figure.ours.append(seen["slip"] - began * 1000)
                    figure.floor.append(frames)
                    laid.append(seen["laid"] - began * 1000)
    figure.extra["laying_on_the_stand_ms"] = round(sorted(laid)[len(laid) // 2], 1)
    return figure
