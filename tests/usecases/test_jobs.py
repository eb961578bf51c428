"""Work that is done aside: who may ask, what comes out, and that a second beginning does nothing twice."""

from __future__ import annotations

import io
import json
import threading
import zipfile
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed, NotFound, StoreFault
from inspect_core.domain.jobs import FILES_KEPT, KEPT, LEASE, MOST_ATTEMPTS, Granted, Job, JobKind, JobState
from inspect_core.usecases import job_work, jobs, take_away
from inspect_core.usecases import roll as rolls
from inspect_core.usecases.acting import acting
from inspect_core.usecases.export import Export
from inspect_core.usecases.job_asking import ask_archive, ask_export, ask_what_if, read_roll
from inspect_core.usecases.job_kinds import REPORT, TAKEN
from inspect_core.usecases.job_threads import JobThread
from inspect_core.usecases.roll import begin_roll, sort_roll
from inspect_core.usecases.sign_in import begin_locked, choose_pin, give_pin, sign_in, sign_out
from tests.usecases.patient import Patient
from tests.usecases.roll_photos import roll
from tests.usecases.site import Site


@pytest.fixture
def site(tmp_path: Path) -> Site:
    site = Site(tmp_path / "store")
    site.services = replace(site.services, jobs=Patient())
    return site


def work(site: Site) -> None:
    assert isinstance(site.services.jobs, Patient)
    site.services.jobs.work()


def test_an_export_is_asked_for_made_and_fetched(site: Site) -> None:
    site.lanyard()
    asked = ask_export(Export(since=site.clock.now().date()), site.manager, site.services)
    assert jobs.look(asked.id, site.services).state is JobState.WAITING
    work(site)
    job = jobs.look(asked.id, site.services)
    assert (job.state, job.attempt, job.problem) == (JobState.DONE, 1, "")
    assert job.result is not None and job.result["name"] == "bartack-export-2026-03-02.zip"
    content = jobs.fetch(job.id, TAKEN, site.manager, site.services)
    assert len(content) == job.result["bytes"]
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        assert "items.csv" in packed.namelist()


def test_only_who_may_do_a_thing_may_ask_for_it_and_nothing_is_kept_of_a_refusal(site: Site, tmp_path: Path) -> None:
    with pytest.raises(NotAllowed, match="A worker may not make an archive"):
        jobs.ask(JobKind.ARCHIVE, site.worker, site.services, files={"x": b"1"})
    assert jobs.newest(JobKind.ARCHIVE, site.services) is None
    assert not (tmp_path / "store" / "jobs").exists()


def test_asked_twice_under_one_id_is_asked_once_and_a_second_one_waits_for_the_first(site: Site) -> None:
    first = jobs.ask(JobKind.EXPORT, site.manager, site.services, job_id="a" * 32)
    assert jobs.ask(JobKind.EXPORT, site.manager, site.services, job_id="a" * 32) == first
    with pytest.raises(Conflict, match="done already"):
        jobs.ask(JobKind.EXPORT, site.manager, site.services)
    work(site)
    assert jobs.ask(JobKind.EXPORT, site.manager, site.services).id != first.id


def test_what_came_out_goes_to_whoever_asked_while_they_may_have_it(site: Site) -> None:
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    with pytest.raises(NotFound, match="Nothing is ready"):
        jobs.fetch(asked.id, TAKEN, site.manager, site.services)
    work(site)
    with pytest.raises(NotAllowed, match="Somebody else asked"):
        jobs.fetch(asked.id, TAKEN, site.competent, site.services)
    with site.services.unit_of_work(write=True) as uow:
        uow.people.add(replace(uow.people.get(site.manager), active=False))
        uow.commit()
    with pytest.raises(NotAllowed, match="no longer active"):
        jobs.fetch(asked.id, TAKEN, site.manager, site.services)


def test_a_job_keeps_the_rights_of_its_asking_after_the_sign_in_is_over(site: Site) -> None:
    signed = begin_locked("Admin", "4917 blue lantern", site.services)
    admin = replace(site.services, actor=signed.actor)
    with pytest.raises(NotAllowed, match="Nobody is signed in"):
        jobs.ask(JobKind.ARCHIVE, signed.person.id, site.services)
    asked = jobs.ask(JobKind.ARCHIVE, signed.person.id, admin)
    sign_out(admin)
    work(site)
    assert jobs.look(asked.id, site.services).state is JobState.DONE
    with pytest.raises(NotAllowed, match="sign-in is over"):
        jobs.fetch(asked.id, TAKEN, signed.person.id, admin)
    again = replace(site.services, actor=sign_in("Admin", "4917 blue lantern", site.services).actor)
    assert jobs.fetch(asked.id, TAKEN, signed.person.id, again)


def test_what_was_granted_opens_nothing_else(site: Site) -> None:
    signed = begin_locked("Admin", "4917 blue lantern", site.services)
    granted = replace(site.services, granted=Granted(signed.person.id, Action.EXPORT))
    with granted.unit_of_work() as uow:
        assert acting(uow, granted, signed.person.id, Action.EXPORT).id == signed.person.id
        for by, action in ((signed.person.id, Action.ARCHIVE), (site.manager, Action.EXPORT)):
            with pytest.raises(NotAllowed, match="Nobody asked"):
                acting(uow, granted, by, action)
        signing = replace(granted, granted=Granted(site.competent, Action.RELEASE))
        with pytest.raises(NotAllowed, match="Nobody asked"):
            acting(uow, signing, site.competent, Action.RELEASE)


def test_others_cannot_stop_it_in_a_locked_site(site: Site) -> None:
    signed = begin_locked("Admin", "4917 blue lantern", site.services)
    admin = replace(site.services, actor=signed.actor)
    give_pin(site.manager, "381 green teapot", signed.person.id, admin)
    mine = sign_in("Manager", "381 green teapot", site.services)
    other = replace(site.services, actor=mine.actor)
    choose_pin(site.manager, "381 green teapot", "another good phrase 5", other)
    asked = jobs.ask(JobKind.EXPORT, signed.person.id, admin)
    with pytest.raises(NotAllowed, match="Somebody else asked"):
        jobs.stop(asked.id, other)
    with pytest.raises(NotAllowed, match="Nobody is signed in"):
        jobs.stop(asked.id, site.services)
    jobs.stop(asked.id, admin)
    assert jobs.look(asked.id, site.services).state is JobState.STOPPED


def test_a_job_that_waits_is_stopped_at_once_and_never_begun(site: Site) -> None:
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    jobs.stop(asked.id, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert (job.state, job.attempt) == (JobState.STOPPED, 0)


def test_a_job_that_runs_is_stopped_before_its_next_step(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(job_work, "BEAT", LEASE / 2000)
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    steps = 0

    def endless(job: Job, services, progress):  # type: ignore[no-untyped-def]
        nonlocal steps
        while True:
            if steps == 50:
                jobs.stop(asked.id, site.services)
            steps += 1
            progress(steps, 0, "steps")
            threading.Event().wait(0.005)

    monkeypatch.setattr(job_work, "DOING", {JobKind.EXPORT: endless})
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.state is JobState.STOPPED and steps > 50 and 0 < job.done <= steps and job.words == "steps"


def test_a_refusal_and_a_fault_are_told_in_words(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(take_away, "MOST_BYTES", -1)
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.state is JobState.FAILED and "too many for a download" in job.problem and "bartack" in job.remedy

    def wrong(*_: object) -> dict[str, object]:
        raise ZeroDivisionError

    monkeypatch.setattr(job_work, "DOING", {JobKind.EXPORT: wrong})
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.state is JobState.FAILED and "not your fault" in job.problem and "ZeroDivision" not in job.remedy


def test_a_job_whose_program_was_killed_is_begun_again_and_only_the_last_beginning_counts(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    ended: list[str] = []

    def slow(job: Job, services, progress):  # type: ignore[no-untyped-def]
        if job.attempt == 1:  # falls silent; another begins it anew meanwhile
            site.clock.move(seconds=LEASE.total_seconds())
            job_work.do_job(asked.id, site.services)
        ended.append(f"attempt {job.attempt}")
        return {"attempt": job.attempt}

    monkeypatch.setattr(job_work, "DOING", {JobKind.EXPORT: slow})
    work(site)
    job = jobs.look(asked.id, site.services)
    assert (job.state, job.attempt, job.result) == (JobState.DONE, 2, {"attempt": 2})
    assert ended == ["attempt 2", "attempt 1"]


def test_while_it_is_being_done_nobody_begins_it_again(site: Site) -> None:
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    with site.services.unit_of_work(write=True) as uow:
        held = asked.claimed(site.clock.now())
        assert held is not None
        uow.jobs.put(held)
        uow.commit()
    work(site)
    assert jobs.look(asked.id, site.services).state is JobState.RUNNING
    site.clock.move(seconds=LEASE.total_seconds())
    jobs.look(asked.id, site.services)  # whoever looks at it has it taken up
    work(site)
    assert jobs.look(asked.id, site.services).state is JobState.DONE


def test_a_job_that_ends_the_program_each_time_is_given_up_in_words(site: Site) -> None:
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    for _ in range(MOST_ATTEMPTS):
        with site.services.unit_of_work(write=True) as uow:
            held = uow.jobs.find(asked.id).claimed(site.clock.now())  # type: ignore[union-attr]
            assert held is not None and held.active
            uow.jobs.put(held)
            uow.commit()
        site.clock.move(seconds=LEASE.total_seconds())
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.state is JobState.FAILED and f"begun {MOST_ATTEMPTS} times" in job.problem


def test_a_roll_is_read_aside_and_a_second_beginning_reads_nothing_twice(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    site.lanyard("WL-0001")
    taken, _ = roll(("WL-0001",), 4)
    one = begin_roll(site.worker, site.services)
    handed_in = [*taken, ("no photo.jpg", b"nothing"), taken[0]]
    asked = read_roll(one.id, handed_in, site.worker, site.services)
    real, read = rolls.read_photo, []

    def cut(roll_id: str, data: bytes, name: str, services) -> bool:  # type: ignore[no-untyped-def]
        if len(read) == 2:
            raise KeyboardInterrupt
        read.append(name)
        return real(roll_id, data, name, services)

    monkeypatch.setattr(rolls, "read_photo", cut)  # ends the program after two photos
    with pytest.raises(KeyboardInterrupt):
        work(site)
    assert jobs.look(asked.id, site.services).state is JobState.RUNNING
    monkeypatch.setattr(rolls, "read_photo", real)
    site.clock.move(seconds=LEASE.total_seconds())
    jobs.look(asked.id, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.result is not None
    assert (job.result["fresh"], job.result["twice"]) == (4, 1)
    ((name, problem, remedy),) = job.result["refused"]
    assert name == "no photo.jpg" and problem and remedy
    assert len(sort_roll(one.id, site.services).photos) == 4
    assert site.services.job_files is not None and site.services.job_files.names(asked.id) == ()


def test_the_past_is_weighed_by_the_rules_of_today_and_by_rules_that_were_handed_in(site: Site) -> None:
    site.record(site.check(site.lanyard()))
    asked = ask_what_if(site.manager, {}, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.result is not None and (job.result["cases"], job.result["changes"]) == (1, 0)
    assert job.result["rules"] == [site.services.rules.version, site.services.rules.digest]

    held = (files("inspect_core.rules") / "data" / "set.toml").read_text(encoding="utf-8")
    stricter = held.replace(site.services.rules.version, "tried out")
    asked = ask_what_if(site.manager, {"set.toml": stricter.encode()}, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.state is JobState.DONE, job.problem
    assert job.result is not None and job.result["rules"][0] == "tried out" and job.result["cases"] == 1
    report = json.loads(jobs.fetch(job.id, REPORT, site.manager, site.services))
    assert report["new_digest"] == job.result["rules"][1] != report["old_digest"]
    with pytest.raises(NotAllowed):
        ask_what_if(site.worker, {}, site.services)
    with pytest.raises(BadInput, match="no rule file"):
        ask_what_if(site.manager, {"../set.toml": b""}, site.services)


def test_files_and_jobs_go_after_their_time(site: Site) -> None:
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert jobs.is_kept(job, site.services)
    site.clock.move(seconds=FILES_KEPT.total_seconds())
    assert not jobs.is_kept(job, site.services)
    site.clock.move(seconds=KEPT.total_seconds())
    later = ask_archive(site.manager, site.services)
    with pytest.raises(NotFound):
        jobs.look(asked.id, site.services)
    assert jobs.look(later.id, site.services)


def test_figures_count_what_waits_runs_and_failed(site: Site) -> None:
    jobs.ask(JobKind.EXPORT, site.manager, site.services)
    site.clock.move(seconds=90)
    jobs.ask(JobKind.ARCHIVE, site.manager, site.services)
    told = jobs.figures(site.services)
    assert (told.waiting, told.running, told.failed, told.oldest, told.workers) == (2, 0, 0, 90.0, None)
    assert not told.stuck  # this program does them itself
    assert replace(told, workers=0).stuck and not replace(told, workers=1).stuck


def test_a_thread_does_jobs_one_after_another_and_ends_with_the_program() -> None:
    thread, seen, gate = JobThread(), [], threading.Event()
    thread.wake("one", lambda: (gate.wait(5), seen.append("one")))
    thread.wake("one", lambda: seen.append("one again"))
    thread.wake("two", lambda: 1 / 0)
    thread.wake("three", lambda: seen.append("three"))
    done = threading.Event()
    thread.wake("four", done.set)
    gate.set()
    assert done.wait(5) and seen == ["one", "three"]
    assert not thread.closing()
    thread.close()
    assert thread.closing()


def test_a_store_that_fails_throws_no_photo_away_and_the_roll_is_read_again_from_what_was_handed_in(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    site.lanyard("WL-0001")
    taken, _ = roll(("WL-0001",), 4)
    one = begin_roll(site.worker, site.services)
    asked = read_roll(one.id, taken, site.worker, site.services)
    real, read = rolls.read_photo, []

    def full(roll_id: str, data: bytes, name: str, services) -> bool:  # type: ignore[no-untyped-def]
        read.append(name)
        if len(read) > 2:
            raise StoreFault("The disk is full.", "Make room, then try again.")
        return real(roll_id, data, name, services)

    monkeypatch.setattr(rolls, "read_photo", full)
    work(site)
    failed = jobs.look(asked.id, site.services)
    assert (failed.state, failed.problem) == (JobState.FAILED, "The disk is full.")
    assert jobs.can_again(failed, site.services)
    monkeypatch.setattr(rolls, "read_photo", real)
    with pytest.raises(NotAllowed, match="Somebody else"):
        jobs.again(asked.id, site.second, site.services)
    assert jobs.again(asked.id, site.worker, site.services).state is JobState.WAITING
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.state is JobState.DONE and job.result == {"fresh": 4, "twice": 0, "refused": []}
    assert len(sort_roll(one.id, site.services).photos) == 4
    assert site.services.job_files is not None and site.services.job_files.names(asked.id) == ()
    assert not jobs.can_again(job, site.services)
    with pytest.raises(NotFound, match="no longer kept"):
        jobs.again(asked.id, site.worker, site.services)


def test_a_roll_whose_end_could_not_be_kept_ends_well_when_it_is_begun_again(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    site.lanyard("WL-0001")
    taken, _ = roll(("WL-0001",), 3)
    one = begin_roll(site.worker, site.services)
    asked = read_roll(one.id, taken, site.worker, site.services)

    def fail(*_: object) -> bool:
        raise StoreFault("The database does not answer.", "Try again.")

    with monkeypatch.context() as away:
        away.setattr(job_work, "_end", fail)
        with pytest.raises(StoreFault):
            work(site)
    site.clock.move(seconds=LEASE.total_seconds())
    jobs.look(asked.id, site.services)
    work(site)
    job = jobs.look(asked.id, site.services)
    assert job.state is JobState.DONE and job.result == {"fresh": 3, "twice": 0, "refused": []}


def test_another_persons_job_is_not_given_back_for_its_id(site: Site) -> None:
    asked = jobs.ask(JobKind.EXPORT, site.manager, site.services)
    with pytest.raises(NotAllowed, match="Somebody else asked"):
        jobs.ask(JobKind.EXPORT, site.second, site.services, job_id=asked.id)


@pytest.mark.parametrize("name", ["-x.toml", ".x.toml", "x" * 61 + ".toml"])
def test_a_rule_file_that_could_not_be_kept_is_refused_in_words_before_anything_is_asked(site: Site, name: str) -> None:
    with pytest.raises(BadInput, match="is no rule file"):
        ask_what_if(site.manager, {name: b""}, site.services)
    assert jobs.newest(JobKind.WHAT_IF, site.services) is None
