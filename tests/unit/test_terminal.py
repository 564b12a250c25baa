"""What stands on a screen: nothing wider than 80 columns, dates in words, the day's work first."""

from __future__ import annotations

import re
import tempfile
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from almanac.actions.look import look
from almanac.faults import Refusal
from almanac.plan.agenda.settle import let_go_on
from almanac.plan.ids import EntryId
from almanac.rulebook.load import shipped_rules
from almanac.terminal.lots import lot_text, lots_text
from almanac.terminal.rules import rule_text, rules_text
from almanac.terminal.table import WIDTH, paragraph, table
from almanac.terminal.today import today_json, today_text
from almanac.terminal.why import why_json, why_text
from almanac.words.dates import weekday
from almanac.words.foremost import next_visit
from almanac.words.overdue import overdue
from almanac.words.why import askable, find
from tests.examples import EXAMPLES, STATES
from tests.nurseries import bench
from tests.saying import as_json, refused
from tests.unit.given import planned

ISO = re.compile(r"\d{4}-\d\d-\d\d")
STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
BUSY = """2027-01-05 received {n}a --count 12 --stage rooting --bin {bin}
2027-01-05 taken {n}b --count 30
2027-01-06 received {m}a --count 8 --stage pot
2027-01-06 received {m}b --count 8 --stage outside
2027-01-06 received {m}c --count 25 --stage rooting --bin {bin}
2027-01-20 gnats --bin {bin}
2027-01-20 mould {m}c
2027-01-20 rot {n}a
2027-01-21 roots {m}c --count 3
2027-01-22 leaves {n}a
"""
WORDS = st.text("abcdefghij éß", min_size=1, max_size=120).map(lambda words: " ".join(words.split())).filter(bool)


@settings(
    max_examples=12,
    derandomize=True,
    phases=[Phase.generate],  # a shorter name is no better an example, and takes minutes to find
)
@given(
    nursery_name=WORDS,
    variety=WORDS,
    number=st.integers(1, 999_999),
    bin_name=st.from_regex(r"[A-Za-z][A-Za-z0-9_-]{0,19}", fullmatch=True),
    later=st.integers(0, 150),
)
def test_no_line_is_wider_than_the_screen_however_long_the_names(
    nursery_name: str, variety: str, number: int, bin_name: str, later: int
) -> None:
    varieties = f"number,name,crop\n{number},{variety},fig\n{number + 1},{variety},fig\n"
    log = BUSY.format(n=number, m=number + 1, bin=bin_name)
    with tempfile.TemporaryDirectory() as folder:
        today = date(2027, 1, 22) + timedelta(days=later)
        nursery = bench(Path(folder), log, today, name=nursery_name, varieties=varieties, bins=(bin_name,))
    plan = planned(nursery)

    screens = [today_text(plan, nursery, days) for days in (1, 14)]
    screens += [lots_text(plan, nursery, closed=True)]
    screens += [lot_text(lot, plan, nursery) for lot in nursery.stock.lots.values()]
    named = (
        [each.id for each in plan.tasks] + [each.id for each in plan.looks[:6]] + [each.id for each in plan.rounds[:3]]
    )
    screens += [why_text(find(name, plan), plan, nursery) for name in named]

    assert not [line for screen in screens for line in screen.splitlines() if len(line) > WIDTH]


def test_dates_are_said_in_words(tmp_path: Path) -> None:
    nursery = bench(tmp_path, BUSY.format(n=7, m=8, bin="A"), date(2027, 1, 22))
    plan = planned(nursery)

    screens = [
        today_text(plan, nursery, 30),
        lots_text(plan, nursery),
        lot_text(nursery.stock.lots["7a"], plan, nursery),
    ]

    for screen in screens:
        assert not ISO.search(screen)


def test_the_year_is_shown_where_it_is_another(tmp_path: Path) -> None:
    log = "2026-12-20 received 7a --count 12 --stage rooting --bin A"
    nursery = bench(tmp_path, log, date(2026, 12, 30))
    plan = planned(nursery)

    assert "Quince Lane (invented), Wed 30 Dec 2026" in today_text(plan, nursery, 1)
    assert re.search(r"roots seen \d+ Jan 2027", lots_text(plan, nursery))


def test_today_begins_with_the_round_and_what_it_looks_at(tmp_path: Path) -> None:
    nursery = bench(tmp_path, STUCK, date(2027, 1, 8))

    lines = today_text(planned(nursery), nursery, 1).splitlines()

    assert lines[0] == "Quince Lane (invented), Fri 8 Jan 2027"
    assert lines[2].startswith("Today: bench round, about ")
    assert "  Bin A" in lines


def test_a_job_is_told_by_its_whole_title(tmp_path: Path) -> None:
    (tmp_path / "rules" / "care").mkdir(parents=True)
    own = '[[task]]\nid = "rot"\ntitle = "Rotten sticks, approx. half: out"\n'
    (tmp_path / "rules" / "care" / "mould.toml").write_text(own, encoding="utf-8")
    log = f"{BUSY.format(n=7, m=8, bin='A')}\n2027-01-22 rot 7a"
    nursery = bench(tmp_path, log, date(2027, 1, 22))

    assert "    7a: Rotten sticks, approx. half: out\n" in today_text(planned(nursery), nursery, 7)


def test_a_day_without_a_round_says_when_the_next_one_is(tmp_path: Path) -> None:
    nursery = bench(tmp_path, STUCK, date(2027, 1, 6))

    assert "No round today; the next is on Fri 8 Jan." in today_text(planned(nursery), nursery, 1)


def test_a_nursery_without_lots_says_so(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "", date(2027, 1, 6))
    plan = planned(nursery)

    assert lots_text(plan, nursery) == "No lots yet.\n"  # how to begin the next step says (test_first_steps)
    assert "No round today." in today_text(plan, nursery, 1)
    assert as_json(today_json(plan, 1))["rounds"] == []


def test_where_every_lot_is_gone_the_list_says_where_they_are(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "2027-01-02 taken 7a --count 3\n2027-01-03 gave 7a --count 3", date(2027, 1, 6))

    assert lots_text(planned(nursery), nursery) == "No lots; lots --closed shows those that had some.\n"


def test_closed_lots_are_shown_only_when_asked_for(tmp_path: Path) -> None:
    nursery = bench(tmp_path, f"{STUCK}\n2027-01-09 gave 7a --count 12", date(2027, 1, 10))
    plan = planned(nursery)

    assert "7a" not in lots_text(plan, nursery)
    assert "closed: 12 gave" in lots_text(plan, nursery, closed=True)


def test_why_tells_rule_numbers_and_source_of_a_task(tmp_path: Path) -> None:
    nursery = bench(tmp_path, f"{STUCK}\n2027-01-20 roots 7a --count 3", date(2027, 1, 21))
    plan = planned(nursery)

    told = why_text(find("7a.pot_up", plan), plan, nursery)

    assert "Rule: pot_up (rules/care/potting.toml)" in told
    assert "Window: " in told
    assert "common practice" in told
    assert as_json(why_json(find("7a.pot_up", plan), plan, nursery))["from"]["milestone"] == "well_rooted"


def test_every_task_look_round_and_milestone_can_be_asked_why(tmp_path: Path) -> None:
    nursery = bench(tmp_path, BUSY.format(n=7, m=8, bin="A"), date(2027, 1, 22))
    plan = planned(nursery)
    names = [each.id for each in plan.tasks] + [each.id for each in plan.looks] + [each.id for each in plan.rounds]
    names += [EntryId(lot, name) for lot, found in plan.milestones.items() for name in found]

    for name in names:
        assert why_text(find(name, plan), plan, nursery).strip()
        assert as_json(why_json(find(name, plan), plan, nursery))["id"]


def test_why_gives_what_stands_in_an_entry_alone_the_day_of_its_entry() -> None:
    day = STATES["quince-lane"]
    plan = look(EXAMPLES / "quince-lane", datetime.combine(day, time(20), UTC), day).plan
    alone = [task for task in plan.tasks if len(task.parts) == 1]

    for task in alone:
        said = weekday(task.due, day)
        assert find(task.id, plan).day == said
        for lot in task.lots:
            assert said in {each.day for each in askable(lot, plan) if each.id == task.id}
    assert any(task.own[0].due != task.due for task in alone)  # a lot's own day can be another


def test_a_mistyped_id_gets_the_nearest_one(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, STUCK, date(2027, 1, 21)))

    with refused(Refusal, "there is no '7a.pot_upp' in the plan; did you mean '7a.pot_up'?"):
        find("7a.pot_upp", plan)
    with refused(Refusal, "there is no '7a.roots.2' in the plan"):  # a milestone has no steps
        find("7a.roots.2", plan)


def test_columns_line_up_and_the_last_one_wraps_under_itself() -> None:
    rows = [("7a", "Copper Kettle", "one two three four"), ("10a", "Tin", "five")]

    assert table(rows, width=40) == [
        "7a   Copper Kettle  one two three four",
        "10a  Tin            five",
    ]
    assert table([("7a", "one two three four five six")], width=24) == ["7a  one two three four", "    five six"]


def test_a_wrapped_list_item_hangs_under_its_words() -> None:
    assert paragraph("- one two three", width=10) == ["- one two", "  three"]


# --- a rule -------------------------------------------------------------------------------------------------------


def test_a_rule_is_shown_in_the_growers_own_units(tmp_path: Path) -> None:
    book = bench(tmp_path, "", date(2027, 1, 5)).book

    american, metric = rule_text("grape", book, "us"), rule_text("grape", book, "metric")

    # 29.5 C is 85.1 F, and 26 weeks are 182 days.
    assert "optimum_low: 85 °F" in american
    assert "optimum_low: 29.5 °C" in metric
    for text in (american, metric):
        assert "keeps_low: 182 days" in text
        assert "hours: 16 h" in text
    assert "width: 4 in" in rule_text("sealed_bag", book, "us")
    assert "width: 10.2 cm" in rule_text("sealed_bag", book, "metric")


def test_a_rule_names_its_days_in_words_and_its_sources_and_files_at_the_end(tmp_path: Path) -> None:
    book = bench(tmp_path, "", date(2027, 1, 5)).book

    told = " ".join(rule_text("pot_up", book, "us", shipped_rules()).split())

    assert (
        "when: window, opens the day of well rooted, best 4 days after well rooted, closes 18 days after well rooted"
    ) in told
    assert told.endswith(f"Sources practice common practice Files shipped {shipped_rules() / 'care' / 'potting.toml'}")
    fig = " ".join(rule_text("fig", book, "us").split())
    # Of a log-normal with spread 0.20 about 22 days, 10 and 90 % lie at 22 / 1.29 = 17 and 22 x 1.29 = 28 days; with
    # 0.15, 0.10 and 0.30 between lots, varieties and growers (0.40 together) at 22 / 1.68 and 22 x 1.68.
    assert "half of all cuttings in 22; 8 in 10 of one lot in 17 to 28 days, of any lot and grower in 13 to 37" in fig


def test_the_list_of_rules_names_each_task_without_values_that_only_a_day_can_fill(tmp_path: Path) -> None:
    text = rules_text(bench(tmp_path, "", date(2027, 1, 5)).book)

    assert "Ship an order" in text
    assert "Take wood" in text
    assert not re.search("[{}…]", text)


def test_how_cold_ends_the_rest_of_buds_is_told_in_a_sentence(tmp_path: Path) -> None:
    book = bench(tmp_path, "", date(2027, 1, 5)).book

    told = " ".join(rule_text("grape", book, "us").split())

    assert (
        "chill: wood cut up to 40 days after the shortest day takes all those days; each week of cold after that takes "
        "21% off, until 10% are left; a day in the cold store counts 0.5 of one on the plant source: alley1977"
    ) in told


def test_every_rule_that_ships_fits_the_screen(tmp_path: Path) -> None:
    book = bench(tmp_path, "", date(2027, 1, 5)).book
    named = [*book.crops, *book.methods, *book.cares, *book.tasks(), *book.cautions, *book.sources]

    wide = [line for name in named for line in rule_text(name, book, "us").splitlines() if len(line) > WIDTH]

    assert not wide


THIRTY = "\n".join(f"2026-12-28 received {n} --count 6 --stage rooting --bin {'AB'[n % 2]}" for n in range(1, 31))
ROTTING = "2027-01-14 rot 17a"


def test_one_rotting_lot_among_thirty_stands_in_the_first_line(tmp_path: Path) -> None:
    varieties = "number,name,crop\n" + "".join(f"{n},Invented {n},fig\n" for n in range(1, 31))
    sound = bench(tmp_path / "sound", THIRTY, date(2027, 1, 15), varieties=varieties, bins="AB", bags=40)
    ill = bench(tmp_path / "ill", f"{THIRTY}\n{ROTTING}", date(2027, 1, 15), varieties=varieties, bins="AB", bags=40)

    screens = [today_text(planned(nursery), nursery, 1).splitlines() for nursery in (sound, ill)]

    assert "17a" not in screens[0][1]
    assert screens[1][1].startswith("Take out rotten sticks: 17a")


SEVEN = ("fig", "grape", "mulberry", "willow", "elderberry", "dogwood", "forsythia")


def test_of_many_windows_the_screen_shows_those_that_close_soonest_and_counts_the_rest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = [f"{n},Invented {n},{crop}\n" for n, crop in enumerate(SEVEN * 2, 1)]
    log = "\n".join(f"2026-11-20 taken {n} --count 9" for n in range(8, 15))
    day = date(2027, 1, 6)
    nursery = bench(tmp_path, log, day, varieties="number,name,crop\n" + "".join(rows), sale="dormant = true")
    plan = planned(nursery)

    def windows(*, whole: bool = False) -> list[str]:
        return today_text(plan, nursery, 1, whole=whole).partition("Open now\n")[2].partition("\n\n")[0].splitlines()

    joined, every = windows(), windows(whole=True)
    monkeypatch.setattr("almanac.terminal.today._MOST", 4)
    few = windows()

    taking = " ".join(" ".join(joined).split()).partition("Take wood: ")[2]
    assert taking.startswith(("fig", "grape", "mulberry", "willow", "elderberry", "dogwood", "forsythia"))
    assert taking.partition("  ")[0].count(", ") >= 2, "alike over crops is one line"
    assert sum("Take dormant wood of " in line for line in every) >= 3, "each has its own with --all"
    last = re.fullmatch(r"  and (\d+) more windows? that can wait: today --all", few.pop())
    assert last
    assert 0 < int(last[1]) < len(plan.windows_open())
    assert sum(line.startswith("  ") and not line.startswith("   ") for line in few) == 4
    assert all(str(task.id) not in " ".join(every) for task in plan.windows_open())
    assert all(str(task.id) in today_text(plan, nursery, 1, whole=True, ids=True) for task in plan.windows_open())


def test_thirty_lots_of_seven_crops_fit_a_screen_of_24_lines_on_most_days_and_two_on_all(tmp_path: Path) -> None:
    varieties = "number,name,crop\n" + "".join(f"{n},Invented {n},{SEVEN[n % 7]}\n" for n in range(1, 31))
    stuck = [date(2026, 12, 10) + timedelta(days=10 * (n % 3)) for n in range(31)]
    log = [f"2026-11-25 taken {n} --count 9" for n in range(1, 11)]
    log += [f"{stuck[n]} received {n} --count 8 --stage rooting --bin {'ABC'[n % 3]}" for n in range(11, 31)]
    lines = []
    for later in range(0, 100, 20):
        day = date(2026, 12, 31) + timedelta(days=later)
        rows = "\n".join([*log, *(f"{day - timedelta(days=1)} looked {n}a" for n in range(1, 31))])
        nursery = bench(
            tmp_path / f"{later}", rows, day, varieties=varieties, bins="ABC", bags=120, sale="dormant = true"
        )
        screen = today_text(planned(nursery), nursery, 1).splitlines()
        assert max(map(len, screen)) <= WIDTH
        lines.append(len(screen))

    assert max(lines) <= 48
    assert sorted(lines)[-2] <= 24, lines


def test_what_the_next_visit_would_miss_is_never_left_to_the_count(tmp_path: Path) -> None:
    rows = [f"{n},Invented {n},{crop}\n" for n, crop in enumerate(SEVEN * 2, 1)]
    log = "\n".join(f"2026-11-20 taken {n} --count 9" for n in range(8, 15))
    for later in range(0, 120, 7):
        day = date(2026, 12, 1) + timedelta(days=later)
        folder = tmp_path / str(later)
        nursery = bench(folder, log, day, varieties="number,name,crop\n" + "".join(rows), sale="dormant = true")
        plan = planned(nursery)
        screen = today_text(plan, nursery, 1, ids=True)

        assert all(str(task.id) in screen for task in plan.windows_open() if task.latest < next_visit(plan))


def test_what_is_still_to_do_in_the_round_is_not_told_again_as_overdue(tmp_path: Path) -> None:
    for later in range(40):
        day = date(2027, 1, 22) + timedelta(days=later)
        nursery = bench(tmp_path / str(later), BUSY.format(n=7, m=8, bin="A"), day)
        plan = planned(nursery)
        lines = [line.strip() for line in today_text(plan, nursery, 1).splitlines() if line.startswith("  ")]
        late = {str(each.id) for each in overdue(plan)}
        here = {str(line.id) for each in plan.rounds if each.day == day for line in each.lines}

        listed = today_text(plan, nursery, 1, ids=True).partition("Overdue\n")[2].partition("\n\n")[0]
        assert not [name for name in late & here if name in listed]
        assert len(lines) == len(set(lines))


def test_a_lamp_nobody_logged_is_let_go_after_two_months_with_a_last_word_and_mould_never(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-20 leaves 7a\n2027-01-20 mould --bin A"
    screens, plans = {}, []
    for days in range(0, 120, 6):
        nursery = bench(tmp_path / str(days), log, date(2027, 1, 26) + timedelta(days=days))
        plans.append(planned(nursery))
        screens[days] = today_text(plans[-1], nursery, 1)

    lamp = [days for days, screen in screens.items() if "Lamp" in screen]
    assert 0 < max(lamp) < 75
    assert ", asked till" in screens[max(lamp)]
    troubles = [
        task for plan in plans for task in plan.tasks if task.rule.after == "mould" and task.rule.scope == "bin"
    ]
    assert all(let_go_on(task) is None for task in troubles)


def test_a_name_too_long_for_its_column_is_cut_with_a_sign_that_says_so(tmp_path: Path) -> None:
    varieties = "number,name,crop\n7,Copper Kettle on the Long Hob,fig\n8,Short one,fig\n"
    log = f"{STUCK}\n2027-01-05 received 8a --count 2 --stage rooting --bin A"
    nursery = bench(tmp_path, log, date(2027, 1, 6), varieties=varieties)

    told = lots_text(planned(nursery), nursery)

    assert "Copper Kettle…  " in told
    assert "Short one  " in told


def test_a_trouble_stands_where_a_lots_state_does_and_nothing_is_said_twice_in_a_row(tmp_path: Path) -> None:
    log = (
        "2026-11-05 taken 8a --count 9\n2027-01-05 received 7a --count 12 --stage rooting --bin A\n"
        "2027-02-20 potted 7a --count 6\n2027-02-21 mould 7a"
    )
    nursery = bench(tmp_path, log, date(2027, 4, 20))

    head, *rows = lots_text(planned(nursery), nursery).splitlines()

    seven, eight = (next(row for row in rows if row.startswith(lot)) for lot in ("7a", "8a"))
    going = head.index("going")
    assert seven[going:].startswith("mould ")
    assert "[" not in seven
    assert eight[going:].startswith("past its time ")
    assert eight.count("past its time") == 1
