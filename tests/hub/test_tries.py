"""Guessing codes is slow, for whoever guesses and for nobody else."""

from collaparte.hub.tries import Tries, whose


def test_a_few_wrong_codes_are_forgiven_then_one_waits() -> None:
    tries = Tries(most=3, seconds_each=8)
    for _ in range(3):
        assert tries.wait("192.0.2.1", 0) == 0
        tries.wrong("192.0.2.1", 0)
    assert tries.wait("192.0.2.1", 0) == 8
    assert tries.wait("192.0.2.1", 4) == 4
    assert tries.wait("192.0.2.1", 8) == 0
    assert tries.wait("192.0.2.2", 0) == 0


def test_a_day_of_guessing_is_less_than_fifteen_thousand_codes() -> None:
    # A code of six of 31 letters has 31**6 = 887,503,681 values.
    tries, now, guesses = Tries(), 0.0, 0
    while now < 24 * 3600:
        if wait := tries.wait("192.0.2.1", now):
            now += wait
        else:
            tries.wrong("192.0.2.1", now)
            guesses += 1
    assert guesses < 15_000


def test_an_ipv6_host_is_counted_by_its_network() -> None:
    # RFC 4291, section 2.5.4: interface ids are 64 bits, and a host may take any number of them.
    assert whose("2001:db8::1") == whose("2001:db8::ffff:2%eth0")
    assert whose("2001:db8::1") != whose("2001:db8:0:1::1")
    assert whose("::ffff:192.0.2.7") == whose("192.0.2.7")


def test_addresses_are_not_kept_for_ever() -> None:
    tries = Tries(addresses=2)
    for last in range(5):
        tries.wrong(f"192.0.2.{last}", 0)
    assert len(tries._spent) == 2
