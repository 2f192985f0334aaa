"""The verbs that serve a band and talk to a hub, run as a user runs them."""

import asyncio
import contextlib
import hashlib
import os
import re
import signal
import socket
import ssl
import sys
from pathlib import Path

import msgspec
import pytest

from collaparte import __version__
from collaparte.hub.discovery import Announcement
from collaparte.hub.serving import Hub
from collaparte.store.folder import settings_of
from collaparte.wire.chart import ChartRepeat, ChartSign
from collaparte.wire.commands import MintRuler
from hub.bands import BARS, HANGS, address, free_port, make_band, served, small_band


async def collaparte(*words: str, code: str = "", role: str = "") -> tuple[int, str, str]:
    """Run the command; its exit code, output and error output."""
    surroundings = os.environ | {"COLLAPARTE_CODE": code, "COLLAPARTE_ROLE_CODE": role, "COLUMNS": "120"}
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "collaparte", *words),
        env=surroundings,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    async with asyncio.timeout(HANGS):
        out, err = await process.communicate()
    return process.returncode or 0, out.decode(), err.decode()


async def as_leader(hub: Hub, *words: str) -> tuple[int, str, str]:
    return await collaparte(words[0], address(hub), *words[1:], code=hub.codes.join, role=hub.codes.leader)


async def as_md(hub: Hub, *words: str) -> tuple[int, str, str]:
    return await collaparte(words[0], address(hub), *words[1:], code=hub.codes.join, role=hub.codes.md)


async def test_the_version() -> None:
    assert await collaparte("--version") == (0, f"{__version__}\n", "")


async def test_the_leaders_verbs(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        assert await as_leader(hub, "next", "Slow Train Uphill") == (0, "Next: Slow Train Uphill.\n", "")
        assert hub.writer.state.position.next == "slow"
        assert (await as_leader(hub, "call", "slow", "--from", "C"))[0] == 0
        assert (hub.writer.state.position.tune, hub.writer.state.position.start) == ("slow", "b17")
        assert await as_leader(hub, "from", "2 before B") == (0, "Slow Train Uphill, from 2 before B.\n", "")
        assert hub.writer.state.position.start == "b7"


async def test_a_call_is_taken_back(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        assert (await as_leader(hub, "call", "--take-back"))[::2] == (1, "There is no call to take back.\n")
        await as_leader(hub, "call", "moth")
        await as_leader(hub, "call", "slow")
        taken = "Taken back: Slow Train Uphill; back to Moth at the Window.\n"
        assert await as_leader(hub, "call", "--take-back") == (0, taken, "")
        assert hub.writer.state.position.tune == "moth"
        say_which = "Say which tune to call, or --take-back and nothing else.\n"
        assert (await as_leader(hub, "call"))[2] == say_which
        assert (await as_leader(hub, "call", "slow", "--take-back"))[2] == say_which
        assert (await collaparte("call", address(hub), "--take-back", code=hub.codes.join))[2].startswith(
            "Only the leader may take back a call."
        )
        assert hub.writer.state.position.tune == "moth"


async def test_the_lead_is_handed_on_and_taken_back(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        assert (await as_leader(hub, "lead"))[1] == "Nobody was given the lead: who has its code leads.\n"
        assert await as_leader(hub, "lead", "alto 2") == (0, "Alto 2 may lead too.\n", "")
        assert (await as_md(hub, "lead", "Alto 2", "--md"))[1] == "Alto 2 may direct too.\n"
        assert hub.writer.state.given == {"alto-2": {"leader", "md"}}
        assert (await as_leader(hub, "lead"))[1] == "Alto 2 may lead and direct too.\n"
        assert (await as_leader(hub, "lead", "alto-2", "--take-back"))[1] == "Alto 2 may no longer lead.\n"
        assert hub.writer.state.given == {"alto-2": {"md"}}
        assert (await as_leader(hub, "lead", "Tuba"))[1:] == (
            "",
            "The band has no chair 'Tuba': it has Alto 1, Alto 2, Trumpet 1.\n",
        )
        assert (await as_leader(hub, "lead", "Alto 1", "--md"))[2].startswith("Only the MD may hand that on.")
        assert hub.writer.state.given == {"alto-2": {"md"}}


async def test_the_mds_verb(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        assert (await as_md(hub, "cut", "C", "D"))[1:] == ("", "No tune is on: say which with --tune.\n")
        code, out, _ = await as_md(hub, "cut", "C", "D", "--tune", "moth")
        assert (code, out.startswith("Moth at the Window: cut C to D")) == (0, True)
        assert hub.writer.state.tunes["moth"].played.cut == ((16, 23),)
        assert (await as_md(hub, "cut", "--tune", "moth", "--take-back", "last"))[0] == 0
        assert hub.writer.state.tunes["moth"].played.cut == ()


async def test_what_is_decided_is_listed_cued_and_taken_back(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        assert (await as_md(hub, "edit"))[2] == "No tune is on: say which with --tune.\n"
        await as_leader(hub, "call", "moth")
        assert (await as_md(hub, "edit", "list"))[1] == "Nothing is decided: the tune is played as written.\n"
        code, out, _ = await as_md(hub, "edit", "times", "B", "C", "--times", "3")
        assert (code, out.startswith("Moth at the Window: Play B to C 3 times (id ")) == (0, True)
        assert (await as_md(hub, "edit", "tacet", "C", "--who", "Saxes", "--kept"))[0] == 0
        assert (await as_md(hub, "edit", "open", "C", "D"))[0] == 0
        listed = (await as_md(hub, "edit"))[1].splitlines()
        assert [line.split("  ")[1].split(",")[0] for line in listed] == [
            "Play B to C 3 times",
            "Tacet C to the end: Saxes",
            "Open until cued: C to D",
        ]
        assert listed[1].endswith(", kept")
        assert (await as_leader(hub, "cue", "--next", "alto 2"))[1] == "Next: alto 2.\n"
        assert (await as_leader(hub, "cue"))[1] == "Cued: the next ending is the last.\n"
        position = hub.writer.state.position
        assert (len(position.cued), list(position.players.values())) == (1, ["Alto 2"])
        assert (await as_md(hub, "edit", "take-back", "last"))[1] == "Taken back.\n"
        assert (await as_md(hub, "cue"))[2] == "Nothing is open in Moth at the Window.\n"
        assert (await as_md(hub, "edit", "tacet", "C", "--who", "Tuba"))[0] == 1
        assert len(hub.writer.state.tunes["moth"].edits) == 2


async def test_what_is_open_in_a_repeat_comes_twice_and_is_cued_once(tmp_path: Path) -> None:
    repeats = (ChartRepeat("start", "b9"), ChartRepeat("end", "b24"))
    chart = msgspec.structs.replace(BARS, repeats=repeats)
    band = [MintRuler(one.tune, chart) if isinstance(one, MintRuler) else one for one in small_band()]
    async with served(tmp_path / "band", band) as hub:
        await as_leader(hub, "call", "moth")
        assert (await as_md(hub, "edit", "open", "bars 11-12"))[0] == 0
        assert len(hub.writer.state.tunes["moth"].played.again) == 2
        assert (await as_leader(hub, "cue"))[1] == "Cued: the next ending is the last.\n"


async def test_repeats_after_the_jump_are_said(tmp_path: Path) -> None:
    signs = (ChartSign("segno", "b9", "start"), ChartSign("ds", "b32", "end"))
    repeats = (ChartRepeat("start", "b9"), ChartRepeat("end", "b16"))
    chart = msgspec.structs.replace(BARS, repeats=repeats, signs=signs)
    band = [MintRuler(one.tune, chart) if isinstance(one, MintRuler) else one for one in small_band()]
    async with served(tmp_path / "band", band) as hub:
        say = ("edit", "repeats-after-jump")
        assert (await as_md(hub, *say, "taken", "--tune", "moth"))[1:] == (
            "Moth at the Window: repeats after the D.S. or D.C. taken.\n",
            "",
        )
        assert len(hub.writer.state.tunes["moth"].written.steps) == 32 + 8 + 24 + 8
        assert (await as_md(hub, *say, "as-printed", "--tune", "moth"))[0] == 0
        assert len(hub.writer.state.tunes["moth"].written.steps) == 32 + 8 + 24
        code, out, err = await as_md(hub, *say, "sometimes", "--tune", "moth")
        assert (code, out, err.count("\n")) == (1, "", 1) and "taken or left or as-printed" in err


async def test_what_cannot_be_done_is_one_sentence(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        at, code = address(hub), hub.codes.join
        for asked, words in (
            (collaparte("call", at, "moth", code=code), "Only the leader"),
            (collaparte("call", at, "moth", code="wrong"), "join code"),
            (collaparte("call", at, "moth"), "join code is missing"),
            (collaparte("call", at, "moth", code=code, role="wrong"), "gives no role"),
            (as_leader(hub, "call", "Polka"), "no tune 'Polka'"),
            (as_leader(hub, "call", "moth", "--from", "Q"), "Q"),
            (collaparte("call", "127.0.0.1:1", "moth", code=code), "No hub answers"),
            (collaparte("set", "127.0.0.1:1", code=code), "start it with `collaparte serve FOLDER`"),
            (collaparte("call", "no-such-band", "moth", code=code), "No hub called 'no-such-band'"),
            (collaparte("set", "no-such-band", code=code), "start it with `collaparte serve FOLDER`"),
            (collaparte("set", str(tmp_path / "band"), code=code), "is a folder: serve it with `collaparte serve"),
        ):
            exit_code, out, err = await asked
            assert (exit_code, out) == (1, "")
            assert words in err
            assert err.count("\n") == 1 and "Traceback" not in err


async def test_watch_says_what_happens(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        watching = await asyncio.create_subprocess_exec(
            *(sys.executable, "-u", "-m", "collaparte", "watch", address(hub), "--code", hub.codes.join),
            stdout=asyncio.subprocess.PIPE,
        )
        assert watching.stdout is not None
        async with asyncio.timeout(HANGS):
            while not (await watching.stdout.readline()).startswith(b"call 0: no tune"):
                pass
            await as_leader(hub, "call", "moth", "--from", "C")
            while (await watching.stdout.readline()).decode() != "call 1: Moth at the Window, from C\n":
                pass
        watching.terminate()
        await watching.wait()


async def test_find_lists_and_a_found_name_is_an_address(tmp_path: Path) -> None:
    async with served(tmp_path / "band") as hub:
        announcement = Announcement(hub.addresses, "epoch-1")
        await announcement.start(hub.band)
        try:
            code, out, _ = await collaparte("find", "--seconds", "3")
            assert code == 0
            assert "Night Owls" in out and hub.addresses.host in out
            name = hub.addresses.host.removesuffix(".local")
            words = ("call", name, "moth")
            code, _, err = await collaparte(*words, code=hub.codes.join, role=hub.codes.leader)
            assert (code, err) == (0, "")
            assert hub.writer.state.position.tune == "moth"
        finally:
            await announcement.stop()


async def test_serve_says_why_it_cannot(tmp_path: Path) -> None:
    code, _, err = await collaparte("serve", str(tmp_path / "nothing"))
    assert (code, "is no band folder" in err) == (1, True)
    async with served(tmp_path / "band"):
        code, _, err = await collaparte("serve", str(tmp_path / "band"))
        assert (code, "is in use" in err) == (1, True)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        code, _, err = await collaparte("serve", str(tmp_path / "band"), "--port", str(port))
    assert (code, f"Port {port} cannot be used" in err) == (1, True)


async def test_serve_prints_how_to_join(tmp_path: Path) -> None:
    settings = await make_band(tmp_path / "band", small_band())
    said = await printed("serve", str(tmp_path / "band"))
    assert "Night Owls" in said
    assert f"http://{settings.host}:{settings.ports.http}" in said
    codes = settings.codes
    for code in (codes.join, codes.leader, codes.md, codes.librarian):
        assert code in said
    assert "█" in said


async def test_a_certificate_is_made_once_shown_again_and_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    band, file = str(tmp_path / "band"), tmp_path / "root.crt"
    settings = await make_band(tmp_path / "band", small_band())
    code, made, err = await collaparte("certificate", band, "--port", str(free_port()), "-o", str(file))
    assert (code, err) == (0, "")
    assert "Colla Parte: Night Owls" in made and f"http://{settings.host}:{settings.ports.http}/trust" in made
    # What it wrote is the certificate whose fingerprint it shows, and no key; the library here is the standard one.
    pem = await asyncio.to_thread(file.read_text)
    shown = hashlib.sha256(ssl.PEM_cert_to_DER_cert(pem)).hexdigest().upper()
    assert re.search(r"SHA-256 +([0-9A-F:]+)\n", made)[1].replace(":", "") == shown  # type: ignore[index]
    assert await collaparte("certificate", band) == (0, made, "")
    assert (await collaparte("certificate", band, "--anew"))[1] != made
    ports = (await asyncio.to_thread(settings_of, tmp_path / "band")).secure
    assert ports is not None
    assert f"https://{settings.host}:{ports.http}" in await printed("serve", band)
    assert (await collaparte("certificate", band, "--remove"))[0] == 0
    assert "https" not in await printed("serve", band)
    assert not await asyncio.to_thread(lambda: [one for one in (tmp_path / "state").rglob("*") if one.is_file()])


async def test_a_certificate_that_cannot_be_made_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    await asyncio.to_thread((tmp_path / "state").write_text, "a file where a folder should be")
    async with served(tmp_path / "band"):
        code, _, err = await collaparte("certificate", str(tmp_path / "band"))
        assert (code, 'in use by "serve"' in err) == (1, True)
    for folder, words in (("nothing", "is no band folder"), ("band", "cannot be made")):
        code, _, err = await collaparte("certificate", str(tmp_path / folder))
        assert (code, words in err, err.count("\n")) == (1, True, 1), err
    assert (await asyncio.to_thread(settings_of, tmp_path / "band")).secure is None


async def test_a_hub_loads_no_library_that_it_does_not_need() -> None:
    """Its workers open files; and who has no certificate needs no library for one."""
    script = (
        "import sys; from collaparte.cli import VERBS, app_of; app_of(['serve']); import collaparte.hub.serving; "
        "print([name for name in ('numpy', 'pymupdf') if name in sys.modules]); app_of(VERBS); "
        "print([name for name in ('cryptography', 'markdown_it') if name in sys.modules])"
    )
    process = await asyncio.create_subprocess_exec(sys.executable, "-c", script, stdout=asyncio.subprocess.PIPE)
    assert (await process.communicate())[0] == b"[]\n[]\n"


async def printed(*words: str) -> str:
    """What a verb that serves prints until it serves; it is stopped then."""
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-u", "-m", "collaparte", *words), stdout=asyncio.subprocess.PIPE
    )
    assert process.stdout is not None
    said = ""
    async with asyncio.timeout(300):
        with contextlib.suppress(asyncio.IncompleteReadError):
            said = (await process.stdout.readuntil(b"Stop with Ctrl-C.\n")).decode()
        process.send_signal(signal.SIGTERM)
        assert await process.wait() == 0
    return said
