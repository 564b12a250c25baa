"""The first screen: what is said of a round in few words, what is never left out, and nothing said twice."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan
from almanac.terminal.today import SCREEN, today_text
from almanac.words.bench import Standing, by_place
from almanac.words.foremost import foremost
from almanac.words.overdue import overdue
from almanac.words.tasks import line_title
from tests.nurseries import bench
from tests.unit.given import planned

DAY = date(2027, 2, 2)
NAMES = "number,name,crop\n" + "".join(f"{n},Invented {n},fig\n" for n in range(1, 39))
MANY = "\n".join(f"2026-12-28 received {n} --count 6 --stage rooting --bin A" for n in range(1, 17))
ROOTS = "\n".join(f"2027-01-26 leaves {n}a\n2027-01-26 roots {n}a" for n in range(1, 15))


def grown(folder: Path, log: str, day: date = DAY, bins: str = "AB") -> tuple[Nursery, Plan]:
    nursery = bench(folder, log, day, varieties=NAMES, bins=bins, bags=90)
    return nursery, planned(nursery)


def looked_through(nursery: Nursery, plan: Plan, *, whole: bool = False) -> dict[str, str]:
    """By what is looked for in the next round, of whom."""
    standing = Standing(nursery.stock.lots.values())
    return {look.what: look.whom for each in by_place(plan.rounds[0], standing, whole=whole) for look in each.looks}


def test_a_look_that_most_lots_of_a_bin_share_names_those_that_do_not(tmp_path: Path) -> None:
    late = "2027-01-18 received 17 --count 6 --stage rooting --bin A"
    nursery, plan = grown(tmp_path, f"{MANY}\n{late}\n{ROOTS}")

    found, named = (looked_through(nursery, plan, whole=whole) for whole in (False, True))

    assert found["How far the roots are"] == "all but 17a"
    assert named["How far the roots are"] == ", ".join(f"{n}a" for n in range(1, 17))
    assert found["Roots, buds, mould, gnats"] == "17a"


def test_all_of_a_bin_is_said_only_where_every_lot_that_stands_there_is_meant(tmp_path: Path) -> None:
    thirty = "\n".join(f"2026-12-28 received {n} --count 6 --stage rooting --bin A" for n in range(1, 31))
    for day in (DAY, date(2027, 2, 5)):
        nursery, plan = grown(tmp_path / f"{day}", f"{thirty}\n{ROOTS}", day)
        here = {line.lot for line in plan.rounds[0].lines if line.look}
        for what, whom in looked_through(nursery, plan).items():
            if whom.startswith("all"):
                but = set(whom.partition(" but ")[2].split(", ")) - {""}
                meant = {line.lot for line in plan.rounds[0].lines if line.look and line.rule.title == what}
                assert meant == {lot.id for lot in nursery.stock.lots.values()} - but
        assert here


def test_under_its_bin_a_lot_need_not_be_said_to_be_in_bags_but_pots_are_told_from_plants_outside(
    tmp_path: Path,
) -> None:
    log = "2027-01-05 received 7a --count 9 --stage rooting --bin A\n2027-01-26 potted 7a --count 6"
    nursery, plan = grown(tmp_path / "pots", log)
    both, planned_both = grown(tmp_path / "out", f"{log}\n2027-01-27 set_out 7a --count 2 --stage pot\n"
                               "2027-01-29 outside 7a --count 2 --stage pot")  # fmt: skip

    assert "in bags" not in today_text(plan, nursery, 14).partition("Coming")[0].partition("Open now")[0]
    assert "7a in pots: " in today_text(planned_both, both, 14)


def test_a_full_day_counts_its_looks_and_still_names_every_job_and_trouble(tmp_path: Path) -> None:
    thirty = "\n".join(
        f"2026-12-{10 + n % 3 * 9} received {n} --count 6 --stage rooting --bin {'ABC'[n % 3]}" for n in range(1, 31)
    )
    signs = "\n".join(f"2027-01-{20 + n % 9} {what} {n}a" for n in range(1, 24) for what in ("roots", "leaves"))
    troubles = "2027-02-01 rot 17a\n2027-02-01 mould 4a\n2027-02-01 dry 9a\n2027-02-01 gnats --bin B --count 4"
    stored = "\n".join(f"2026-11-25 taken {n} --count 9" for n in range(31, 39))
    nursery, plan = grown(tmp_path, f"{stored}\n{thirty}\n{signs}\n{troubles}", bins="ABC")

    short, whole = (today_text(plan, nursery, 1, whole=each) for each in (False, True))

    assert "Looks are told by how many lots: today --all names them." in short
    assert "Looks are told by how many lots" not in whole
    assert re.search(r"Bin A: .*\(\d+\)", short)
    jobs = [line for line in plan.rounds[0].lines if line.task and line.lot]
    assert {"17a", "4a", "9a"} <= {line.lot for line in jobs}
    assert all(re.search(rf"\b{line.lot}\b", short) for line in jobs)
    assert short.splitlines()[1].startswith("Take out rotten sticks: 17a; Mould on green: wipe, no spray: 4a")


def test_a_day_that_fits_a_screen_names_every_lot(tmp_path: Path) -> None:
    nursery, plan = grown(tmp_path, f"{MANY}\n{ROOTS}")

    screen = today_text(plan, nursery, 1)

    assert len(screen.splitlines()) <= SCREEN
    assert "today --all names them" not in screen


def test_what_the_first_line_says_in_full_is_not_listed_again_below_it(tmp_path: Path) -> None:
    for day in range(8, 40, 4):
        nursery, plan = grown(tmp_path / str(day), f"{MANY}\n{ROOTS}", date.fromordinal(DAY.toordinal() + day))
        first, screen = foremost(plan), today_text(plan, nursery, 1)
        listed = today_text(plan, nursery, 1, ids=True)

        below = screen.partition("\n\n")[2]
        for task in plan.windows_open():
            assert str(task.id) in listed
            if task.id in first.ids:
                assert not re.search(rf"^  {re.escape(task.rule.title)}: {task.lots[0]}\b", below, re.MULTILINE)


def test_alike_things_that_close_on_one_day_are_one_in_the_first_line(tmp_path: Path) -> None:
    log = "\n".join(f"2026-11-2{n} taken {n} --count 9" for n in (1, 2, 3))
    said = []
    for day in range(0, 70, 3):
        _, plan = grown(tmp_path / str(day), log, date.fromordinal(date(2027, 1, 5).toordinal() + day))
        said.append(foremost(plan).text)
        kinds = [part.partition(":")[0].strip() for part in foremost(plan).text.split(";")]
        by = re.findall(r"(?:by \w{3} \d+ \w{3}|today)", foremost(plan).text)
        assert len(set(zip(kinds, by, strict=False))) == min(len(kinds), len(by)), foremost(plan).text


def test_days_of_one_lot_that_follow_each_other_name_it_once(tmp_path: Path) -> None:
    log = "2026-11-05 received 7a --count 9 --stage rooting --bin A\n2026-12-26 potted 7a\n2027-04-20 set_out 7a"
    nursery = bench(tmp_path, log, date(2027, 4, 22), varieties=NAMES, hardening='way = "hours"')
    told = today_text(planned(nursery), nursery, 30)

    assert "Out and in by the clock" in told
    assert not re.search(r"\b7a\b[^\n:]*, 7a\b", told)


def test_what_is_not_late_yet_says_by_when_and_not_that_it_is_still_to_do(tmp_path: Path) -> None:
    leaves = "\n".join(f"2027-01-{20 + n % 9} leaves {n}a" for n in range(1, 17))
    _, plan = grown(tmp_path, f"{MANY}\n{leaves}")
    [each, *_] = plan.rounds
    late = next(line for line in each.lines if line.late_since)
    yet = [replace(late, late_since=each.day + timedelta(days=days)) for days in (-3, 0, 2)]

    told = [line_title(line, each.day) for line in yet]

    assert re.fullmatch(r"still to do: [a-z].* \(late since \d+ \w+\)", told[0])
    assert re.fullmatch(r"[A-Z].* \(last day\)", told[1])
    assert re.fullmatch(r"[A-Z].* \(by \d+ \w+\)", told[2])


def test_frost_tonight_leads_the_first_line_before_all_that_is_late(tmp_path: Path) -> None:
    pots = "2027-03-10 received {} --count 6 --stage pot"
    log = "\n".join([*(pots.format(n) for n in (7, 8)), "2027-04-05 outside 7a", "2027-04-05 mould 8a"])
    nursery = bench(tmp_path, log, date(2027, 4, 6), varieties=NAMES)

    first = foremost(planned(nursery)).text

    assert re.match(r"Below \d+ °?[FC] .*: cover 7a\?(;|$)", first), first


def test_what_is_overdue_since_different_days_says_the_day_of_each(tmp_path: Path) -> None:
    leaves = "\n".join(f"2027-01-{day} leaves {lot}" for day, lot in ((10, "1a"), (14, "2a")))
    stuck = "\n".join(f"2026-12-08 received {n} --count 6 --stage rooting --bin {'AB'[n % 2]}" for n in (1, 2))
    _, plan = grown(tmp_path, f"{stuck}\n{leaves}", date(2027, 2, 4))

    first = foremost(plan).text

    late = {each.id.about: each.since for each in overdue(plan) if each.id.rule == "lamp_on"}
    assert len(set(late.values())) == 2
    assert all(re.search(rf"bin {name} {since}", first) for name, since in late.items()), first
