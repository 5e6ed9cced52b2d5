"""The book on a network from the command line: people, tokens, the certificate, and what serving to others takes."""

from __future__ import annotations

import json
import os
import re
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx2
import pytest

from beltwright.desk.people import TRIES_BY_ADDRESS
from beltwright.errors import InputError, Refused
from beltwright.plant.identity import now
from beltwright.web import certificates, network
from beltwright.web.serving import At
from tests.cli.conftest import Run
from tests.desk.hashes import cheap_hashes

EVERYWHERE = At("0.0.0.0", 8433)


@pytest.fixture(autouse=True)
def _quick_hashes() -> Iterator[None]:
    with cheap_hashes():
        yield


@pytest.fixture
def peopled(plant: Run) -> Run:
    assert plant("people", "add", "Kit", "--role", "keep").code == 0
    return plant


def given(out: str) -> str:
    found = re.search(r"First password: (\S+)", out)
    assert found is not None, out
    return found[1]


def test_people_are_added_changed_and_retired(plant: Run) -> None:
    assert plant("people", "list").out == "The book has no people yet.\n"
    added = plant("people", "add", "Kit", "--role", "keep")
    assert "Kit may now keep the book." in added.out
    assert len(given(added.out)) == 19
    assert plant("people", "add", "Ann", "--role", "note").code == 0
    assert plant("people", "add", "ANN", "--role", "note").code == 4
    assert plant("people", "add", "Bo", "--role", "king").code == 2
    assert plant("people", "role", "ann", "plan").out == "Ann may now plan.\n"
    assert given(plant("people", "password", "Ann").out)
    assert plant("people", "retire", "Ann").code == 0
    assert plant("people", "retire", "Kit").code == 4
    assert plant("people", "retire", "Zoe").code == 3
    listed = plant("people", "list", "--changes").out
    assert re.search(r"Ann +plan +has left", listed)
    assert re.search(r"Ann +changed the role +Ann +note -> plan", listed), "by Ann: BELTWRIGHT_BY"
    assert given(plant("people", "back", "Ann").out)


def test_who_changed_what_is_listed(peopled: Run) -> None:
    assert peopled("settings", "--plant", "Mill two").code == 0
    listed = peopled("changes").out
    assert re.search(r"Ann +changed the plant's +Mill two +plant: .* ->", listed), listed
    assert re.search(r"Ann +added +Kit +keep the book", listed)
    assert re.search(r"Ann +entered the drive +FAN-1 ", listed)
    found = json.loads(peopled("changes", "--most", "1", "--json").out)
    assert [(change["by"], change["what"], change["detail"]) for change in found] == [
        ("Ann", "changed the plant's choices", found[0]["detail"])]
    assert found[0]["detail"].endswith("-> Mill two")


def test_tokens_are_made_listed_and_ended(peopled: Run) -> None:
    assert peopled("token", "list").out == "There are no tokens.\n"
    made = peopled("token", "make", "Kit", "scale in the store", "--role", "note")
    assert len(made.out.splitlines()[-1]) > 40
    listed = peopled("token", "list").out
    mark = re.search(r"^([0-9a-f]{6}) +scale in the store +Kit +note", listed, re.MULTILINE)
    assert mark is not None, listed
    assert made.out.splitlines()[-1] not in listed
    assert peopled("token", "end", "ffffff" if mark[1] != "ffffff" else "0").code == 3
    assert peopled("token", "end", mark[1]).code == 0
    assert peopled("token", "list").out == "There are no tokens.\n"


def test_a_certificate_is_made_kept_and_renewed(plant: Run, tmp_path: Path) -> None:
    first = plant("tls", "--name", "mill-pc.local", "--name", "192.168.7.20")
    assert first.code == 0
    assert "mill-pc.local, 192.168.7.20" in first.out
    assert "(new)" in first.out
    fingerprint = certificates.fingerprint(tmp_path / "plant-tls" / "authority.crt").replace(":", "")
    assert fingerprint in re.sub(r"\s", "", first.out)
    again = plant("tls")
    assert "mill-pc.local, 192.168.7.20" in again.out, "the names it has"
    assert "(new)" not in again.out
    assert "(new), until" in plant("tls", "--renew").out
    assert plant("tls", "--name", "mill pc").code == 2


def test_serving_to_others_is_refused_with_all_that_is_missing(plant: Run) -> None:
    said = plant("serve", "--host", "0.0.0.0", "--port", "0")
    assert said.code == 4
    assert "people add NAME" in said.err
    assert "beltwright tls" in said.err
    assert "people add" in plant("serve", "--host", "0.0.0.0", "--port", "0",
                                 "--plain-http-others-can-read-along").err, "people are needed all the same"


def test_what_serving_to_others_takes(peopled: Run, tmp_path: Path) -> None:
    book = tmp_path / "plant.book"
    with pytest.raises(Refused, match="a certificate for HTTPS: beltwright tls"):
        network.plan(EVERYWHERE, book, now=now())
    plain = network.plan(EVERYWHERE, book, now=now(), plain_http=True)
    assert not plain.alone
    assert any("passwords" in line for line in plain.warnings)
    assert peopled("tls", "--name", "mill-pc.local").code == 0
    safe = network.plan(EVERYWHERE, book, now=now())
    assert (safe.hosts, safe.address, safe.warnings) == (("mill-pc.local",), "https://mill-pc.local:8433", ())
    named = network.plan(EVERYWHERE, book, now=now(), address="https://belts.mill.example")
    assert named.hosts == ("mill-pc.local", "belts.mill.example")
    with pytest.raises(InputError, match="no address"):
        network.plan(EVERYWHERE, book, now=now(), address="belts.mill.example")
    late = now() + certificates.SERVER_LASTS - timedelta(days=5)
    renewed = network.plan(EVERYWHERE, book, now=late)
    assert "was renewed" in renewed.warnings[0]
    (tmp_path / "plant-tls" / "authority.key").unlink()
    later = late + certificates.SERVER_LASTS
    assert "runs out" in network.plan(EVERYWHERE, book, now=later - timedelta(days=10)).warnings[0]
    with pytest.raises(Refused, match="ran out"):
        network.plan(EVERYWHERE, book, now=later)
    alone = network.plan(At(), book, now=now())
    assert (alone.alone, alone.certificate) == (True, None)


def test_what_serving_behind_a_proxy_takes(peopled: Run, plant: Run, tmp_path: Path) -> None:
    book, here = tmp_path / "plant.book", At()
    with pytest.raises(Refused, match="--address https://"):
        network.plan(here, book, now=now(), proxies=["127.0.0.1"])
    with pytest.raises(Refused, match="HTTPS at the proxy"):
        network.plan(here, book, now=now(), proxies=["127.0.0.1"], address="http://belts.mill.local")
    with pytest.raises(InputError, match="no address of a proxy"):
        network.plan(here, book, now=now(), proxies=["everybody"], address="https://belts.mill.local")
    with pytest.raises(InputError, match="none below another page"):
        network.plan(here, book, now=now(), proxies=["127.0.0.1"], address="https://mill.local/belts")
    plan = network.plan(here, book, now=now(), proxies=["127.0.0.1", "10.0.0.0/24"], address="https://belts.mill.local/")
    assert (plan.alone, plan.hosts, plan.address, plan.warnings) == (False, ("belts.mill.local",),
                                                                     "https://belts.mill.local", ())
    assert plan.proxies == ("127.0.0.1", "10.0.0.0/24")
    plain = network.plan(here, book, now=now(), proxies=["127.0.0.1"], address="http://belts.mill.local",
                         plain_http=True)
    assert any("passwords" in line for line in plain.warnings)
    assert plant("people", "retire", "Kit").code == 4, "the last keeper stays"


def test_a_proxy_without_people_is_refused(plant: Run) -> None:
    said = plant("serve", "--port", "0", "--proxy", "127.0.0.1", "--address", "https://belts.mill.local")
    assert said.code == 4
    assert "people add NAME" in said.err


@contextmanager
def serving(folder: Path, *options: str, says: str = "served at") -> Iterator[str]:
    """The command itself in a process of its own; gives the address it says."""
    process = subprocess.Popen([sys.executable, "-m", "beltwright", "serve", "--port", "0", *options], cwd=folder,
                               stdout=subprocess.PIPE, text=True, env={**os.environ, "BELTWRIGHT_BOOK": "plant.book"})
    try:
        assert process.stdout is not None
        yield next(found[1] for line in process.stdout if (found := re.search(rf"{says} (\S+)", line)))
    finally:
        process.terminate()
        process.wait(20)
        assert process.stdout is not None
        process.stdout.close()


def test_it_is_served_over_https_to_phones_that_trust_the_authority(peopled: Run, tmp_path: Path) -> None:
    assert peopled("tls", "--name", "localhost", "--name", "127.0.0.1").code == 0
    trusting = ssl.create_default_context(cafile=tmp_path / "plant-tls" / "authority.crt")
    with serving(tmp_path, "--host", "0.0.0.0") as address, httpx2.Client(verify=trusting) as phone:
        sent = phone.get(address)
        assert (sent.status_code, sent.headers["location"]) == (303, "/log-in")
        trust = phone.get(f"{address}/trust")
        fingerprint = certificates.fingerprint(tmp_path / "plant-tls" / "authority.crt").replace(":", " ")
        assert fingerprint[:23] in trust.text
        der = phone.get(f"{address}/trust/authority.crt")
        assert der.headers["content-type"] == "application/x-x509-ca-cert"
        assert ssl.DER_cert_to_PEM_cert(der.content).split() == (
            tmp_path / "plant-tls" / "authority.crt").read_text(encoding="ascii").split()
        stranger = phone.get(f"{address}/log-in", headers={"Host": "evil.example"})
        assert stranger.status_code == 403
        with httpx2.Client() as distrusting, pytest.raises(httpx2.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
            distrusting.get(address)


def test_alone_it_answers_to_no_name_but_this_computer_s(plant: Run, tmp_path: Path) -> None:
    with serving(tmp_path) as address, httpx2.Client() as browser:
        assert browser.get(address).status_code == 200
        assert browser.get(address, headers={"Host": "evil.example"}).status_code == 403


def test_alone_it_is_not_passed_on_by_another_program(plant: Run, tmp_path: Path) -> None:
    with serving(tmp_path) as address, httpx2.Client() as browser:
        for header in ("X-Forwarded-For", "Forwarded", "X-Forwarded-Host", "X-Real-IP"):
            answer = browser.get(address, headers={header: "for=10.0.0.7"})
            assert answer.status_code == 403
            assert "serve --proxy" in answer.text


class Passing(httpx2.Client):
    """A reverse proxy in small: it passes a request on and says who asked, over HTTPS."""

    def __init__(self, at: str, who: str) -> None:
        super().__init__(base_url=at, headers={"Host": "belts.mill.local", "X-Forwarded-Proto": "https",
                                               "X-Forwarded-For": who})
        self.cookie = self.token = ""

    def ask(self, method: str, address: str, **more: Any) -> httpx2.Response:
        answer = self.request(method, address, headers={"Cookie": self.cookie} if self.cookie else {}, **more)
        if kept := answer.headers.get("set-cookie"):
            self.cookie = kept.partition(";")[0]
        if found := re.search(r'name="form_token" value="([0-9a-f]+)"', answer.text):
            self.token = found[1]
        return answer

    def log_in(self, name: str, password: str) -> httpx2.Response:
        if not self.token:
            self.ask("GET", "/log-in")
        return self.ask("POST", "/log-in", data={"form_token": self.token, "name": name, "password": password})


def test_behind_a_proxy_each_client_is_told_apart_by_the_proxy_s_word(plant: Run, tmp_path: Path) -> None:
    password = given(plant("people", "add", "Kit", "--role", "keep").out)
    options = ("--proxy", "127.0.0.1", "--address", "https://belts.mill.local")
    with (serving(tmp_path, *options, says="finds it at") as at, Passing(at, "10.0.0.66") as guessing,
          Passing(at, "10.0.0.99, 10.0.0.66") as lying, Passing(at, "10.0.0.7") as other):
        codes = [guessing.log_in(f"Eve {number}", "guess").status_code for number in range(TRIES_BY_ADDRESS + 1)]
        assert codes == [422] * TRIES_BY_ADDRESS + [429]
        # what a client says of itself stands before what the proxy adds, and is not believed
        assert lying.log_in("Eve", "guess").status_code == 429
        came_in = other.log_in("Kit", password)
        assert came_in.status_code == 303
        assert came_in.headers["set-cookie"].startswith("__Host-session=")
        assert "Secure" in came_in.headers["set-cookie"]
        assert other.ask("GET", "/me").status_code == 200
        assert httpx2.get(f"{at}/log-in", headers={"Host": "127.0.0.1"}).status_code == 403
    assert re.search(r"Kit +logged in +Kit +10\.0\.0\.7", plant("people", "list", "--changes").out)


def test_nobody_but_the_proxy_says_who_asks(plant: Run, tmp_path: Path) -> None:
    password = given(plant("people", "add", "Kit", "--role", "keep").out)
    options = ("--proxy", "192.0.2.1", "--address", "https://belts.mill.local")
    with serving(tmp_path, *options, says="finds it at") as at, Passing(at, "10.0.0.7") as other:
        came_in = other.log_in("Kit", password)
        assert came_in.status_code == 303
        assert "Secure" not in came_in.headers["set-cookie"], "nobody has said that it came over HTTPS"
    assert re.search(r"Kit +logged in +Kit +127\.0\.0\.1", plant("people", "list", "--changes").out)
