"""One worker process: takes jobs on standard input, answers on standard output, and dies rather than take too much.

Started by the pool as `python -m collaparte.hub.worker LIMITS NICE`; frames as in `jobs`.
"""

import gc
import os
import signal
import sys
from typing import BinaryIO

import msgspec

from collaparte.hub import jobs, work
from collaparte.hub.limits import MB, Limits


def main() -> None:
    """Serve jobs until standard input ends."""
    limits = msgspec.json.decode(sys.argv[1], type=Limits)
    # The answers keep the real standard output to themselves: libraries print on descriptor 1.
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    # Ctrl-C goes to the whole group; the pool ends its workers itself.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    give_way(int(sys.argv[2]))
    bench = work.Bench(limits)
    spare_sweeps()
    encoder = msgspec.msgpack.Encoder()
    decoder: msgspec.msgpack.Decoder[jobs.Order] = msgspec.msgpack.Decoder(jobs.Order)
    answer: jobs.Answer = jobs.Ready(hold_memory(limits.memory_mb), time_held=sys.platform != "win32")
    while True:
        data = encoder.encode(answer)
        out.write(jobs.FRAME.pack(len(data)) + data)
        out.flush()
        frame = read_frame(sys.stdin.buffer)
        if frame is None:
            return
        order = decoder.decode(frame)
        die_after(order.seconds, order.within + 5)
        answer = bench.do(order.job)
        die_after(0, 0)


def read_frame(source: BinaryIO) -> bytes | None:
    """The next frame; None when the pool has gone."""
    head = source.read(jobs.FRAME.size)
    if len(head) < jobs.FRAME.size:
        return None
    (size,) = jobs.FRAME.unpack(head)
    data = source.read(size)
    return data if len(data) == size else None


def hold_memory(mb: int) -> bool:
    """Have the system limit this process's address space; False where it has no such limit."""
    if sys.platform != "linux":
        # Other systems have no such call, or accept it without keeping to it (from memory).
        return False
    import resource

    hard = resource.getrlimit(resource.RLIMIT_AS)[1]
    wanted = mb * MB if hard == resource.RLIM_INFINITY else min(mb * MB, hard)
    resource.setrlimit(resource.RLIMIT_AS, (wanted, hard))
    return True


def give_way(nice: int) -> None:
    """Work so far behind the hub itself, where the system knows of that."""
    if sys.platform != "win32":
        os.nice(nice)


def spare_sweeps() -> None:
    """Look for circles in memory seldom: a page makes tens of thousands of objects, and hardly any in a circle.

    Measured: reading takes a tenth less time.
    """
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


def die_after(seconds: float, within: float) -> None:
    """Have the system end this process if it still works on the same job by then, pool or no pool; 0: no more.

    `seconds` are those of a processor (POSIX setitimer, ITIMER_PROF: counted while the process runs), by SIGPROF.
    """
    if sys.platform != "win32":
        signal.setitimer(signal.ITIMER_PROF, seconds)
        signal.setitimer(signal.ITIMER_REAL, within)


if __name__ == "__main__":
    main()
