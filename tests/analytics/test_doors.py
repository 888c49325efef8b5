"""Accounts, passwords, and what guessing costs; each rule has a twin that breaks it and is caught."""

import base64
import time
from pathlib import Path

import pytest
from argon2 import PasswordHasher

from analytics import audit_lines, passwords
from analytics import doors as doors_module
from analytics.audit import Audit
from analytics.decisions import Decision, Decisions
from analytics.doors import Doors, Refused, SignedIn
from analytics.errors import BadQuestion
from tests.dashboard.fake_doors import GOOD, Clock, doors_with_everybody, quick_hashes


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def doors(tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Doors:
    quick_hashes(monkeypatch)
    return doors_with_everybody(tmp_path, clock)


def wait(doors: Doors, name: str = "look", address: str = "10.0.0.1", password: str = "wrong") -> float:
    came = doors.sign_in(name, password, address)
    assert isinstance(came, Refused)
    return came.wait_s


def check_guessing_is_slow(doors: Doors, clock: Clock, name: str) -> None:
    """Guess for an hour as fast as the doors allow; the limit is from memory of OWASP ASVS 4.0.3, 2.2.1."""
    began, looked_at, waits = clock.at, 0, []
    while (clock.at - began).total_seconds() < 3600:
        told = wait(doors, name, f"10.0.0.{looked_at}")
        if told:
            waits.append(told)
            clock.later(seconds=told + 0.01)
        else:
            looked_at += 1
        assert looked_at <= 100, "guesses in an hour"
    assert waits == sorted(waits), "the delay grows"
    assert looked_at < 20


@pytest.mark.parametrize("name", ["look", "nobody of that name"])
def test_guessing_at_one_account_from_many_addresses_is_slow(doors: Doors, clock: Clock, name: str) -> None:
    check_guessing_is_slow(doors, clock, name)


def test_doors_without_a_lock_are_caught(doors: Doors, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doors_module, "_delay_s", lambda kind, failures: 0.0)
    with pytest.raises(AssertionError):
        check_guessing_is_slow(doors, clock, "look")


def test_guessing_at_many_accounts_from_one_address_is_slow(doors: Doors) -> None:
    free = 0
    while not wait(doors, f"name {free}"):
        free += 1
    assert free == 20
    assert wait(doors, "manage", password=GOOD) > 0, "the right password too"
    assert isinstance(doors.sign_in("manage", GOOD, "10.0.0.2"), SignedIn)


def test_an_ipv6_network_is_one_address(doors: Doors) -> None:
    for n in range(20):
        assert not wait(doors, f"name {n}", f"2001:db8::{n:x}")
    assert wait(doors, "another", "2001:db8::ffff") > 0
    assert not wait(doors, "yet another", "2001:db8:0:1::1")


def test_the_right_password_ends_the_delay_of_its_account(doors: Doors, clock: Clock) -> None:
    while not (told := wait(doors)):
        pass
    clock.later(seconds=told)
    assert isinstance(doors.sign_in("look", GOOD, "10.0.0.1"), SignedIn)
    assert [wait(doors) for _ in range(5)] == [0.0] * 5


def test_people_who_share_an_address_do_not_lock_each_other_out(doors: Doors) -> None:
    for _ in range(50):
        assert isinstance(doors.sign_in("look", GOOD, "10.0.0.1"), SignedIn)


def test_a_name_that_does_not_exist_takes_as_long(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passwords, "HASHER", PasswordHasher(time_cost=2, memory_cost=8192, parallelism=1))
    passwords._nobody.cache_clear()
    kept = passwords.hashed(GOOD)
    compared: list[str] = []
    verify = passwords.HASHER.verify
    monkeypatch.setattr(
        passwords, "HASHER", type("Counting", (), {
            "verify": lambda self, hash, password: compared.append(hash) or verify(hash, password),
            "hash": lambda self, password: kept,
        })(),
    )  # fmt: skip
    assert not passwords.matches(None, "any")
    assert not passwords.matches(kept, "wrong")
    assert len(compared) == 2, "one comparison each, with the same parameters"
    assert {text.split("$")[3] for text in compared} == {"m=8192,t=2,p=1"}
    passwords._nobody.cache_clear()


def test_the_parameters_are_those_of_argon2id() -> None:
    began = time.perf_counter()
    kept = passwords.hashed(GOOD)
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")  # RFC 9106, section 4, second recommendation
    assert time.perf_counter() - began > 0.005
    assert passwords.matches(kept, GOOD)


@pytest.mark.parametrize("bad", ["", "eleven char", "x" * 129, "abababababababab", "Somebody Long"])
def test_passwords_that_take_no_guessing_are_refused(bad: str) -> None:
    with pytest.raises(BadQuestion):
        passwords.hashed(bad, "somebody long")


@pytest.mark.parametrize("good", ["twelve chars", "x yz" * 32, "only small letters", "ÄÖÜ äöü ß 漢字 😀😀😀"])
def test_any_characters_are_allowed_and_none_cut_off(good: str, monkeypatch: pytest.MonkeyPatch) -> None:
    quick_hashes(monkeypatch)
    kept = passwords.hashed(good)
    assert passwords.matches(kept, good)
    assert not passwords.matches(kept, good[:-1])


def test_an_account_of_older_parameters_is_kept_anew(doors: Doors, monkeypatch: pytest.MonkeyPatch) -> None:
    stronger = PasswordHasher(time_cost=2, memory_cost=16, parallelism=1)
    monkeypatch.setattr(passwords, "HASHER", stronger)
    assert isinstance(doors.sign_in("look", GOOD, "a"), SignedIn)
    with Decisions(doors._file.path.parent).reading() as connection:
        kept = connection.execute("select password_hash from users where name = 'look'").fetchone()[0]  # type: ignore[union-attr]
    assert "m=16,t=2" in kept


@pytest.mark.parametrize("name", ["LOOK", " look ", "ｌｏｏｋ"])
def test_names_differ_by_more_than_case_and_spaces(doors: Doors, name: str) -> None:
    with pytest.raises(BadQuestion, match="already"):
        doors.accounts.add(name, "look", GOOD, "test")
    assert isinstance(doors.sign_in(name, GOOD, "a"), SignedIn)


@pytest.mark.parametrize(
    "change",
    [
        lambda accounts: accounts.remove("look", "test"),
        lambda accounts: accounts.set_role("look", "manage", "test"),
        lambda accounts: accounts.set_password("look", GOOD + "!", "test"),
    ],
)
def test_a_change_to_an_account_ends_its_sessions(doors: Doors, change: object) -> None:
    came, other = doors.sign_in("look", GOOD, "a"), doors.sign_in("settle", GOOD, "a")
    assert isinstance(came, SignedIn)
    assert isinstance(other, SignedIn)
    change(doors.accounts)  # type: ignore[operator]
    assert doors.person(came.token) is None
    assert doors.person(other.token) is not None


def test_an_account_made_anew_under_an_old_name_has_no_old_session(doors: Doors) -> None:
    came = doors.sign_in("look", GOOD, "a")
    doors.accounts.remove("look", "test")
    doors.accounts.add("look", "manage", GOOD, "test")
    assert isinstance(came, SignedIn)
    assert doors.person(came.token) is None


def test_a_token_is_long_and_never_the_same(doors: Doors) -> None:
    came = [doors.sign_in("look", GOOD, "a") for _ in range(20)]
    tokens = {each.token for each in came if isinstance(each, SignedIn)}
    assert len(tokens) == 20
    assert min(len(base64.urlsafe_b64decode(token + "=")) for token in tokens) == 32, "256 bits"


def test_a_clock_set_back_opens_nothing_for_longer(doors: Doors, clock: Clock) -> None:
    came = doors.sign_in("look", GOOD, "a")
    clock.later(hours=-20)
    assert isinstance(came, SignedIn)
    assert doors.person(came.token) is None


def events(doors: Doors) -> list[tuple[str, str, str]]:
    return [row[2:] for row in doors.audit.events().iter_rows()][::-1]


def test_the_audit_has_a_line_for_each_event(doors: Doors) -> None:
    before = len(events(doors))
    came = doors.sign_in("look", GOOD, "10.0.0.1")
    assert isinstance(came, SignedIn)
    doors.sign_in("look", "wrong", "10.0.0.1")
    doors.sign_in("a password typed into the wrong field", "x", "10.0.0.1")
    doors.sign_out(came.token)
    doors.accounts.set_role("look", "settle", "boss")
    doors.accounts.remove("look", "boss")
    assert events(doors)[before:] == [
        ("look", "signed in", "from 10.0.0.1"),
        ("look", "sign-in refused", "from 10.0.0.1"),
        ("(no such account)", "sign-in refused", "from 10.0.0.1"),
        ("look", "signed out", ""),
        ("boss", "role changed", "look, settle"),
        ("boss", "account removed", "look"),
    ]


def test_an_event_is_one_line_and_of_a_known_kind(tmp_path: Path) -> None:
    kept = Audit(tmp_path)
    kept.note("a\nb", "loaded", "one\r\nfake line\x00" + "x" * 500)
    (row,) = kept.events().to_dicts()
    assert (row["who"], row["about"][:13], len(row["about"])) == ("a b", "one fake line", 300)
    with pytest.raises(ValueError, match="no kind"):
        kept.note("a", "did something", "")
    assert kept.events().height == 1


def test_a_file_from_before_accounts_gets_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    quick_hashes(monkeypatch)
    Decisions(tmp_path).add([Decision("reviewed", "return", "C1", "yes")])
    doors = Doors(tmp_path)
    assert not doors.accounts.exist()
    assert doors.person("x") is None
    doors.accounts.add("first", "manage", GOOD, "test")
    assert doors.accounts.exist()
    assert Decisions(tmp_path).current("return", ["C1"]).height == 1
    assert (tmp_path / "decisions.sqlite").stat().st_mode & 0o007 == 0


@pytest.fixture
def secrets(doors: Doors) -> list[bytes]:
    """Return what no file may hold, after all that can happen to it has happened."""
    came = doors.sign_in("look", GOOD, "a")
    assert isinstance(came, SignedIn)
    doors.sign_in("look", "a wrong password", "a")
    doors.accounts.set_password("look", "another good one", "test")
    return [text.encode() for text in (GOOD, "a wrong password", "another good one", came.token)]


def check_nothing_is_told(folder: Path, secrets: list[bytes]) -> None:
    for path in folder.rglob("*"):
        content = path.read_bytes()
        assert [secret for secret in secrets if secret in content] == []


def test_no_file_holds_a_password_or_token(tmp_path: Path, secrets: list[bytes]) -> None:
    check_nothing_is_told(tmp_path, secrets)


def test_an_audit_that_tells_too_much_is_caught(tmp_path: Path, secrets: list[bytes], doors: Doors) -> None:
    with Decisions(tmp_path).writing() as connection:
        audit_lines.write(connection, Clock().at, "look", "sign-in refused", "with a wrong password")
    with pytest.raises(AssertionError):
        check_nothing_is_told(tmp_path, secrets)
