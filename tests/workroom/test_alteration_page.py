"""The alteration page in a real browser, driven by keys and pointer as a maker would."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from alteration_samples import Workroom, altered, base, open_workroom, served
from playwright.sync_api import BrowserContext, Locator, Page, expect

from coutil.measure import format_length

ROW_FIELDS = ("rows.side_back.amount", "rows.side_back.why")


@pytest.fixture(scope="module")
def workroom(tmp_path_factory: pytest.TempPathFactory) -> Workroom:
    return open_workroom(tmp_path_factory.mktemp("workroom"))


@pytest.fixture(scope="module")
def site(workroom: Workroom) -> Iterator[str]:
    with served(workroom.app) as url:
        yield url


@pytest.fixture
def address(site: str, workroom: Workroom) -> str:
    """The page of an order that nobody has touched yet."""
    return f"{site}/orders/{workroom.order().id}/alteration"


@pytest.fixture
def page(window: BrowserContext, address: str) -> Page:
    return opened(window, address)


def opened(window: BrowserContext, address: str) -> Page:
    page = window.new_page()
    page.on("pageerror", lambda error: pytest.fail(f"the page stumbled: {error}"))
    page.goto(address)
    ready(page)
    return page


def ready(page: Page) -> None:
    page.wait_for_selector("#alteration:not([data-busy])")


def field(page: Page, path: str) -> Locator:
    return page.locator(f'[data-path="{path}"]')


def line(page: Page, row: str) -> Locator:
    return page.locator(f'tr.goes[data-row="{row}"]')


def result_of(page: Page, piece: str) -> str:
    return page.locator(f'.piece[data-key="{piece}"] .result').get_attribute("d") or ""


def overrule(page: Page, row: str, amount: str, why: str) -> None:
    field(page, f"rows.{row}.amount").fill(amount)
    field(page, f"rows.{row}.amount").press("Enter")
    reason = field(page, f"rows.{row}.why")
    expect(reason).to_be_focused()
    reason.fill(why)
    reason.press("Enter")
    kept(page, line(page, row).locator(".row-name").inner_text())


def kept(page: Page, step: str) -> None:
    """The last step of the history is that one."""
    expect(page.locator("#undo")).to_have_attribute("title", step)


def test_a_measurement_in_inches_redraws_every_piece(page: Page) -> None:
    page.evaluate("document.cookie = 'coutil_unit=in; path=/'")
    page.reload()
    ready(page)
    before = result_of(page, "side_back")
    waist = field(page, "chart.waist_girth")
    expect(waist).to_have_value("27 3/4")
    waist.fill("26 1/2")
    expect(page.locator('tr[data-measure="waist_girth"] td').last).to_contain_text("-3 7/16")
    page.wait_for_function(
        "d => document.querySelector('.piece[data-key=side_back] .result').getAttribute('d') !== d", arg=before
    )
    waist.press("Enter")
    expect(page.locator("#undo")).to_be_enabled()
    expect(waist).to_have_value("26 1/2")


def test_a_length_that_cannot_be_read_is_told_beside_its_field(page: Page) -> None:
    waist = field(page, "chart.waist_girth")
    waist.fill("seventy")
    expect(page.locator("#fault-waist_girth")).to_contain_text("is not a length")
    expect(waist).to_have_attribute("aria-invalid", "true")
    waist.press("Escape")
    expect(waist).to_have_value("70.5")
    expect(page.locator("#fault-waist_girth")).to_be_empty()


def test_two_rows_overruled_with_reasons_then_undone_and_done_again(page: Page) -> None:
    untouched = result_of(page, "side_front")
    overrule(page, "side_front", "-4", "sat well on the last toile")
    first = result_of(page, "side_front")
    assert first != untouched
    overrule(page, "curves_waist_back", "-8", "the client asked for it")
    page.keyboard.press("Control+z")
    expect(line(page, "curves_waist_back")).not_to_have_class(re.compile("by-hand"))
    page.keyboard.press("Control+z")
    expect(line(page, "side_front")).not_to_have_class(re.compile("by-hand"))
    page.wait_for_function(
        "d => document.querySelector('.piece[data-key=side_front] .result').getAttribute('d') === d", arg=untouched
    )
    page.keyboard.press("Control+y")
    expect(field(page, "rows.side_front.amount")).to_have_value("-4")
    page.keyboard.press("Control+y")
    expect(field(page, "rows.curves_waist_back.why")).to_have_value("the client asked for it")


def test_a_row_without_a_reason_is_not_kept(page: Page) -> None:
    amount = field(page, "rows.side_back.amount")
    before = amount.input_value()
    amount.fill("-3")
    amount.press("Enter")
    reason = field(page, "rows.side_back.why")
    expect(reason).to_be_focused()
    reason.press("Enter")
    expect(page.locator('tr.why[data-row="side_back"] .fault')).to_contain_text("Say why")
    reason.press("Escape")
    expect(amount).to_have_value(before)
    expect(page.locator("#undo")).to_be_disabled()


def test_a_row_that_wants_its_reason_is_asked_about_until_it_has_one(page: Page) -> None:
    waist, amount, reason = (field(page, path) for path in ("chart.waist_girth", *ROW_FIELDS))
    fault = page.locator('tr.why[data-row="side_back"] .fault')
    reading, other = waist.input_value(), field(page, "rows.side_front.amount").input_value()
    amount.fill("-3")
    amount.press("Enter")
    expect(reason).to_be_focused()
    for press in ("#undo", "#save-open"):
        page.locator(press).click()
        expect(fault).to_contain_text("Say why first")
        expect(reason).to_be_focused()
    expect(page.locator("#save")).to_be_hidden()
    waist.press_sequentially("6")
    expect(reason).to_be_focused()
    expect(waist).to_have_value(reading)
    line(page, "side_front").locator("select").select_option("locked")
    expect(reason).to_be_focused()
    expect(line(page, "side_front").locator("select")).to_have_value("computed")
    expect(amount).to_have_value("-3")
    reason.fill("the toile gaped there")
    page.locator("#undo").click()
    expect(amount).not_to_have_value("-3")
    page.locator("#redo").click()
    expect(amount).to_have_value("-3")
    expect(reason).to_have_value("the toile gaped there")
    expect(field(page, "rows.side_front.amount")).to_have_value(other)


def test_a_reason_being_written_is_not_swept_away_by_the_redrawing(page: Page) -> None:
    answer_late(page, 1200)
    field(page, "rows.side_back.amount").fill("-3")
    field(page, "rows.side_back.amount").press("Enter")
    reason = field(page, "rows.side_back.why")
    expect(reason).to_be_focused()
    reason.press_sequentially("as worn at the last fitting")
    page.wait_for_timeout(2600)
    expect(reason).to_have_value("as worn at the last fitting")
    reason.press("Enter")
    kept(page, "Side seam, back")


def answer_late(page: Page, milliseconds: int) -> None:
    """Every answer of the program comes so much later."""
    page.evaluate(
        """(late) => {
          const { fetch } = window;
          window.fetch = async (...asked) => {
            await new Promise((done) => setTimeout(done, late));
            return fetch(...asked);
          };
        }""",
        milliseconds,
    )


def test_who_types_faster_than_the_pattern_is_drawn_loses_nothing(page: Page) -> None:
    answer_late(page, 400)
    field(page, "chart.waist_girth").fill("71.5")
    field(page, "chart.waist_girth").press("Tab")
    field(page, "chart.hip_girth").fill("101")
    field(page, "chart.hip_girth").press("Enter")
    field(page, "reduction").fill("5")
    field(page, "reduction").press("Enter")
    kept(page, "Waist reduction,")
    expect(field(page, "chart.waist_girth")).to_have_value("71.5")
    expect(field(page, "chart.hip_girth")).to_have_value("101.0")
    for step in ("Hip girth", "Waist girth"):
        page.keyboard.press("Control+z")
        kept(page, step)
    page.keyboard.press("Control+z")
    expect(field(page, "chart.waist_girth")).to_have_value("70.5")
    expect(page.locator("#undo")).to_be_disabled()


def test_a_reading_left_in_haste_that_is_none_is_told_beside_its_field(page: Page) -> None:
    answer_late(page, 400)
    field(page, "chart.waist_girth").fill("seventy")
    field(page, "chart.waist_girth").press("Tab")
    field(page, "chart.hip_girth").fill("101")
    field(page, "chart.hip_girth").press("Enter")
    expect(page.locator("#fault-waist_girth")).to_contain_text("is not a length")
    field(page, "chart.waist_girth").fill("71")
    field(page, "chart.waist_girth").press("Enter")
    expect(page.locator("#fault-waist_girth")).to_be_empty()
    kept(page, "Waist girth")


def test_left_and_locked_rows(page: Page) -> None:
    line(page, "centre").locator("select").select_option("left")
    reason = field(page, "rows.centre.why")
    expect(reason).to_be_focused()
    reason.fill("the reading is in doubt")
    reason.press("Enter")
    kept(page, "Bust point separation")
    expect(line(page, "centre")).to_contain_text("left as in the base")
    line(page, "centre").locator("select").select_option("computed")
    expect(line(page, "centre")).not_to_have_class(re.compile("by-hand"))


def test_a_height_left_to_her_is_taken_with_one_press_and_a_reason(page: Page) -> None:
    why = page.locator('tr.why[data-row="side_height"]')
    why.get_by_role("button", name="Take the wanted -10 mm").click()
    reason = field(page, "rows.side_height.why")
    expect(reason).to_be_focused()
    reason.fill("the client asked for it")
    reason.press("Enter")
    expect(field(page, "rows.side_height.amount")).to_have_value("-10")
    expect(line(page, "side_height")).to_have_class(re.compile("by-hand"))


def test_a_handle_is_dragged_in_whole_steps_and_escape_puts_it_back(page: Page) -> None:
    line(page, "side_back").click()
    before = field(page, "rows.side_back.amount").input_value()
    grip = page.locator('.arrow[data-row="side_back"] .grip').first
    box = grip.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 30, y, steps=6)
    expect(field(page, "rows.side_back.amount")).not_to_have_value(before)
    page.keyboard.press("Escape")
    page.mouse.up()
    expect(field(page, "rows.side_back.amount")).to_have_value(before)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 30, y, steps=6)
    page.mouse.up()
    reason = field(page, "rows.side_back.why")
    expect(reason).to_be_focused()
    reason.fill("a little more room at the back")
    reason.press("Enter")
    kept(page, "Side seam, back")
    moved = float(field(page, "rows.side_back.amount").input_value())
    assert moved == round(moved)
    assert moved > float(before)
    page.keyboard.press("Control+z")
    expect(field(page, "rows.side_back.amount")).to_have_value(before)


def test_a_chosen_row_lights_its_edges_and_arrows(page: Page) -> None:
    line(page, "side_front").click()
    lit = page.locator(".edge.lit")
    expect(lit).to_have_count(2)
    assert {edge.get_attribute("data-edge") for edge in lit.all()} == {"side_front/side_seam", "outer_cup/side_seam"}
    expect(page.locator('.arrow[data-row="side_front"] .amount').first).to_have_text("-7.5 mm")
    expect(page.locator(".piece.lit")).to_have_count(2)


def test_a_clicked_edge_tells_its_mate_its_length_its_rows_and_its_checks(page: Page) -> None:
    page.locator("#drawing").focus()
    for _ in range(24):
        page.keyboard.press("ArrowRight")
        if page.evaluate("document.activeElement.dataset.edge") == "side_back/side_seam":
            break
    page.keyboard.press("Enter")
    card = page.locator("#edge-card")
    expect(card).to_contain_text("Side back, side seam")
    before, after = (style.piece("side_back").edge("side_seam").curve.length / 10 for style in (base(), altered()))
    expect(card).to_contain_text(f"{after:.2f} cm, base {before:.2f} cm")
    expect(card).to_contain_text("side front, side seam and outer cup, side seam")
    expect(card.locator("#edge-rows")).to_contain_text("Side seam, back")
    expect(card.locator("#edge-checks")).to_contain_text("Side seam, side front and outer cup to side back, both sides")
    mates = {edge.get_attribute("data-edge") for edge in page.locator(".edge.mate").all()}
    assert mates == {"side_front/side_seam", "outer_cup/side_seam"}


def test_the_tape_reads_result_base_and_mate(page: Page) -> None:
    page.keyboard.press("t")
    edge = page.locator('.edge[data-edge="side_back/side_seam"] .run')
    for part in (0.3, 0.7):
        at = edge.evaluate(
            """(path, part) => {
              const point = path.getPointAtLength(part * path.getTotalLength());
              const { x, y } = point.matrixTransform(path.getScreenCTM());
              return [x, y];
            }""",
            part,
        )
        page.mouse.click(*at)
    card = page.locator("#tape-card")
    expect(card.locator('[data-reading="mate"]')).to_be_visible()
    result, before, mate = (
        float((card.locator(f'[data-reading="{name}"]').inner_text()).removesuffix(" cm"))
        for name in ("result", "base", "mate")
    )
    whole = altered().piece("side_back").edge("side_seam").curve.length / 10
    assert 0.39 * whole < result < 0.41 * whole
    assert abs(result - mate) <= 0.01
    assert before > result
    page.keyboard.press("Escape")
    expect(card).to_be_hidden()


def test_the_steps_are_worked_out_and_walked_through(page: Page) -> None:
    page.keyboard.press("s")
    count = page.locator("#lesson-count")
    expect(count).to_have_text("Step 0 of 17", timeout=60_000)
    outline = page.locator('.piece[data-key="side_front"] .base').get_attribute("d")
    assert result_of(page, "side_front") == outline
    page.locator("#lesson-on").click()
    expect(page.locator("#lesson-title")).to_contain_text("Underbust to waist")
    assert result_of(page, "side_front") != outline
    for _ in range(16):
        page.locator("#lesson-on").click()
    expect(count).to_have_text("Step 17 of 17")
    expect(page.locator("#lesson-on")).to_be_disabled()
    page.locator("#lesson-end").click()
    expect(page.locator("#lesson")).to_be_hidden()


def test_the_journal_survives_a_reload(page: Page) -> None:
    overrule(page, "armhole", "3", "half of the change is enough for a first toile")
    page.reload()
    ready(page)
    expect(field(page, "rows.armhole.amount")).to_have_value("+3")
    expect(page.locator("#undo")).to_be_enabled()
    page.keyboard.press("Control+z")
    expect(line(page, "armhole")).not_to_have_class(re.compile("by-hand"))


def test_a_fresh_window_does_not_take_over_another_windows_journal(window: BrowserContext, address: str) -> None:
    first = opened(window, address)
    overrule(first, "armhole", "2", "the reading is in doubt")
    second = opened(window, address)
    expect(line(second, "armhole")).not_to_have_class(re.compile("by-hand"))
    first.close()
    third = opened(window, address)
    expect(line(third, "armhole")).to_have_class(re.compile("by-hand"))


def test_a_revision_is_saved_compared_and_restored_and_windows_merge(window: BrowserContext, address: str) -> None:
    first = opened(window, address)
    second = opened(window, address)
    overrule(first, "side_front", "-4", "sat well on the last toile")
    save(first, "first toile")
    expect(first.locator("#alt-state")).to_have_text("Saved as r1.")
    expect(second.locator("#alt-news")).to_contain_text("Another window has saved r1")

    second.locator("#news-look").click()
    expect(second.locator("#merge-body")).to_contain_text("Side seam, front")
    second.locator("#merge-cancel").click()
    overrule(second, "armhole", "3", "the reading is in doubt")
    save(second, "after the call")
    merge = second.locator("#merge")
    expect(merge).to_be_visible()
    expect(merge).to_contain_text("nothing was overwritten")
    expect(merge).to_contain_text("overruled at -4 mm: sat well on the last toile")
    merge.get_by_role("button", name="Take these, and go on").click()
    expect(line(second, "side_front")).to_have_class(re.compile("by-hand"))
    expect(line(second, "armhole")).to_have_class(re.compile("by-hand"))
    save(second, "after the call")
    expect(second.locator("#alt-state")).to_have_text("Saved as r2.")

    second.get_by_role("tab", name="Revisions").click()
    second.locator("#compare-first").select_option(label="r2: after the call")
    second.locator("#compare-second").select_option(label="r1: first toile")
    second.locator("#compare").click()
    expect(second.locator("#comparison-body")).to_contain_text("+3 mm, overruled: the reading is in doubt")
    expect(second.locator(".overlay .other")).to_have_count(6)
    second.locator("#compare-end").click()
    expect(second.locator(".overlay .other")).to_have_count(0)
    second.get_by_role("button", name="Restore").last.click()
    expect(line(second, "armhole")).not_to_have_class(re.compile("by-hand"))
    second.keyboard.press("Control+z")
    expect(line(second, "armhole")).to_have_class(re.compile("by-hand"))


def save(page: Page, note: str) -> None:
    page.keyboard.press("Control+s")
    page.locator("#save-note").fill(note)
    page.locator("#save-form").get_by_role("button", name="Save").click()


def test_a_field_both_windows_changed_is_asked_about(window: BrowserContext, address: str) -> None:
    first = opened(window, address)
    second = opened(window, address)
    overrule(first, "side_back", "-10", "sat well on the last toile")
    save(first, "first")
    expect(first.locator("#alt-state")).to_contain_text("Saved as")
    overrule(second, "side_back", "-6", "the client asked for it")
    save(second, "second")
    clash = second.locator("#merge-body tr.clash")
    expect(clash).to_have_count(1)
    expect(clash.locator('input[value="mine"]')).to_be_checked()
    clash.locator('input[value="theirs"]').check()
    second.locator("#merge-form").get_by_role("button", name="Take these").click()
    expect(field(second, "rows.side_back.amount")).to_have_value("-10")


def test_true_size_asks_for_a_ruler_and_keeps_it(page: Page) -> None:
    page.locator("#zoom-true").click()
    expect(page.locator("#ruler")).to_be_visible()
    page.locator("#ruler-size").evaluate("(field) => { field.value = 500; field.dispatchEvent(new Event('input')); }")
    page.locator("#ruler-keep").click()
    expect(page.locator("#zoom-true")).to_have_attribute("aria-pressed", "true")
    scale = page.locator(".world").get_attribute("transform") or ""
    assert "scale(5)" in scale
    page.keyboard.press("0")
    expect(page.locator("#zoom-true")).to_have_attribute("aria-pressed", "false")
    page.keyboard.press("1")
    assert "scale(5)" in (page.locator(".world").get_attribute("transform") or "")


def test_rows_are_walked_by_arrows_and_keys_are_told(page: Page) -> None:
    line(page, "length").focus()
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.dataset.row") != "length"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.tagName") == "INPUT"
    page.keyboard.press("Escape")
    page.locator("#drawing").focus()
    page.keyboard.press("?")
    expect(page.locator("#keys")).to_contain_text("take the tape")


def test_a_handle_is_moved_by_the_keyboard(page: Page) -> None:
    line(page, "side_front").click()
    grip = page.locator('.arrow[data-row="side_front"] .grip').first
    grip.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(field(page, "rows.side_front.amount")).not_to_have_value("-7.5")
    page.keyboard.press("Enter")
    reason = field(page, "rows.side_front.why")
    expect(reason).to_be_focused()
    page.keyboard.press("Escape")
    expect(field(page, "rows.side_front.amount")).to_have_value("-7.5")


def test_everything_has_a_name_and_a_caption(page: Page) -> None:
    nameless = page.evaluate(
        """() => [...document.querySelectorAll("#alteration :is(button, input, select)")]
          .filter((e) => e.getClientRects().length)
          .filter((e) => !(e.getAttribute("aria-label") || e.textContent.trim() || e.labels?.length))
          .map((e) => e.outerHTML)"""
    )
    assert nameless == []
    assert page.evaluate("[...document.querySelectorAll('#alteration table')].every((t) => t.caption)")
    assert page.evaluate("document.querySelector('#checks-telling').tagName") == "UL"


def test_any_run_of_steps_is_undone_and_done_again(page: Page) -> None:
    """The history alone, on random runs: back to the beginning, forth to the end; what is cancelled leaves no trace."""
    outcome = page.evaluate(
        """async () => {
          const { History } = await import("/static/alteration/history.js");
          const { isSame, withValue } = await import("/static/alteration/draft.js");
          let seed = 7;
          const chance = (n) => (seed = (seed * 48271) % 2147483647) % n;
          for (let run = 0; run < 200; run += 1) {
            const first = { chart: { waist: 700, bust: 900 }, rows: {}, reduction: null };
            const history = new History(first);
            for (let i = 0; i < 12; i += 1) {
              const path = ["chart.waist", "rows.side", "reduction", "chart.new"][chance(4)];
              const value = chance(3) ? { amount: chance(9) } : null;
              const before = history.draft;
              history.begin();
              history.preview(withValue(history.draft, path, value));
              history.preview(withValue(history.draft, "reduction", chance(50)));
              if (chance(3)) history.commit(path);
              else if (!history.cancel() || history.draft !== before) return `cancelled wrongly in run ${run}`;
              if (chance(4) === 0) history.undo();
            }
            while (history.redo() !== null);
            const last = history.draft;
            while (history.undo() !== null);
            if (!isSame(sorted(history.draft), sorted(first))) return `not back at the beginning in run ${run}`;
            while (history.redo() !== null);
            if (!isSame(sorted(history.draft), sorted(last))) return `not forth at the end in run ${run}`;
          }
          return "as it should";
          function sorted(draft) {
            const plain = (value) => (value && typeof value === "object" ? Object.entries(value).sort() : value);
            return Object.entries(draft).map(([key, value]) => [key, plain(value)]).sort();
          }
        }"""
    )
    assert outcome == "as it should"


def test_lengths_the_page_adds_up_read_as_the_programs_do(page: Page) -> None:
    lengths = [0.0, 1.0, -7.5, 12.7, 25.4, -38.1, 3.175, 0.4, -0.4, 100.0]
    told = page.evaluate(
        """async (lengths) => {
          const { inWords } = await import("/static/alteration/lengths.js");
          return lengths.map((mm) => [inWords(mm, "mm"), inWords(mm, "in")]);
        }""",
        lengths,
    )
    assert told == [[format_length(mm, "mm"), format_length(mm, "in")] for mm in lengths]


def test_a_chosen_reading_shows_what_its_rows_move_together(page: Page) -> None:
    field(page, "chart.waist_girth").focus()
    amounts = page.locator(".arrow .amount")
    # At the side back's side seam the reduction lets out 3 mm and the waist takes in 4.5: 1.5 mm in.
    expect(page.locator(".arrow", has_text="-1.5 mm").first).to_be_visible()
    places = [arrow.get_attribute("data-key") for arrow in page.locator(".arrow").all()]
    assert len(places) == len(set(places))
    assert amounts.count() == len(places)


def test_three_ways_meet_field_by_field(page: Page) -> None:
    told = page.evaluate(
        """async () => {
          const { threeWays } = await import("/static/alteration/draft.js");
          const began = { chart: { waist: 1, bust: 2, hip: 3 }, rows: {}, reduction: 5 };
          const mine = { chart: { waist: 9, bust: 2, hip: 3 }, rows: { side: { amount: 1 } }, reduction: 6 };
          const theirs = { chart: { waist: 8, bust: 7 }, rows: {}, reduction: 6 };
          return threeWays(began, mine, theirs).map((w) => [w.path, w.changedHere, w.changedThere, w.clashes]).sort();
        }"""
    )
    assert told == [
        ["chart.bust", False, True, False],
        ["chart.hip", False, True, False],
        ["chart.waist", True, True, True],
        ["reduction", True, True, False],
        ["rows.side", True, False, False],
    ]


def test_an_edit_is_measured_from_key_to_pixels(page: Page) -> None:
    """What is measured is whole: the engine's time lies within the answer's, and that within the edit's."""
    waist = field(page, "chart.waist_girth")
    waist.focus()
    for edit in range(3):
        waist.fill(f"{70 + edit / 10}")
        page.wait_for_function("n => performance.getEntriesByName('key to pixels').length > n", arg=edit)
    measured = page.evaluate("performance.getEntriesByName('key to pixels').map((m) => [m.duration, m.detail])")
    assert len(measured) == 3
    for whole, part in measured:
        assert 0 < part["engine"] < part["answered"] - part["asked"] < whole
        assert part["asked"] < part["answered"] <= part["written"]
