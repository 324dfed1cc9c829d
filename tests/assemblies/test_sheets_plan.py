"""Plans of sheets: what they are cut from, what they cost, what is refused, and the shop file afterwards."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies import Assembly, Batch, SheetRules, Shop, cost_of, lay_sheets
from panelwright.assemblies.booking.booking import book, bookings
from panelwright.assemblies.cutting import Speeds, sheet_time
from panelwright.assemblies.data.product import Hardware
from panelwright.assemblies.nest import Pin
from panelwright.assemblies.sheets.request import Bridges, PieceRules, batches_of
from panelwright.assemblies.sheets.sheet_entries import plan_words, sheet_entry
from panelwright.assemblies.shop.supply import supply_of
from panelwright.plates import Stock, rectangle
from panelwright.plates.errors import NestError, PanelwrightError, ShopError, SizeError
from studio import SHOP, card_tray, glaze_stand, jar_frame, studio_shop

QUICK = SheetRules(is_marked=False, effort=10)
FULL_SHEETS = SHOP[: SHOP.index('[[stocks."birch 4".offcuts]]')]


class TestSupply:
    def test_a_stock_of_the_design_takes_as_many_sheets_as_needed(self) -> None:
        """Its one size, and a count that cannot run out."""
        supply = supply_of(Stock("MDF", 4, sheet=(400, 300)), None, 7)
        assert supply is not None
        (kind,) = supply.kinds
        assert (kind.sheet.id, kind.sheet.count, kind.price, kind.place) == ("400 × 300", 7, None, None)

    def test_the_shop_comes_first_offcuts_before_sheets(self) -> None:
        """Listed by the places that the shop file gives them."""
        shop = studio_shop()
        supply = supply_of(shop["birch 4"], shop, 9)
        assert supply is not None
        assert [(kind.sheet.id, kind.sheet.count, kind.price, kind.place) for kind in supply.kinds] == [
            ("offcut 300 × 260", 1, 0.0, ("offcuts", 0)),
            ("600 × 400", 5, 7.5, ("sheets", 0)),
        ]

    def test_sheets_larger_than_the_bed_are_cut_down(self) -> None:
        """Two of 610 × 450 mm come from one of 1220 × 450 mm; their price is shared, and the shelf has no place for them."""
        shop = Shop.from_text(SHOP.replace("width_mm = 600\nheight_mm = 400", "width_mm = 1220\nheight_mm = 450"))
        supply = supply_of(shop["birch 4"], shop, 3)
        assert supply is not None
        cut = supply.kinds[-1]
        assert (cut.sheet.size, cut.sheet.count, cut.price, cut.place) == ((650, 450), 3, 7.5, None)
        (note,) = supply.notes
        assert "first cut 1 of 650 × 450 mm from each of 1220 × 450 mm" in note

    def test_nobody_knows_the_sheets_of_some_stock(self) -> None:
        """Then there is a note and no sheet, and the rest goes on."""
        mdf = Stock("MDF", 4.0, kerf=0.18, density=750)
        product = jar_frame()
        panels = tuple(replace(panel, stock=mdf) for panel in product.panels)
        plan = lay_sheets([Batch(replace(product, panels=panels))], None, QUICK)
        assert plan.sheets == ()
        assert "no sheet size is known for MDF" in plan.notes[0]


class TestPlan:
    def test_copies_of_several_products_in_one_run(self) -> None:
        """Every part is there as often as asked for, by stock, and numbers of sheets run through."""
        batches = batches_of([(card_tray(), 3), (glaze_stand(), 2), (card_tray(240.0), 1)])
        assert [batch.label for batch in batches] == ["card tray", "glaze stand", "card tray 2"]
        plan = lay_sheets(batches, studio_shop(), QUICK)
        assert [sheet.name for sheet in plan.sheets] == [f"sheet-{n}" for n in range(1, len(plan.sheets) + 1)]
        found: dict[str, int] = {}
        for sheet in plan.sheets:
            for part in sheet.parts:
                assert part.source.panel.stock == sheet.stock
                found[part.name] = found.get(part.name, 0) + 1
        wanted = {batch.piece_name(p.name): batch.copies * p.quantity for batch in batches for p in batch.product.panels}
        assert found == wanted
        assert [use.is_reproducible for use in plan.uses] == [True, True]
        assert all(use.sheets >= use.least_sheets > 0 for use in plan.uses)

    def test_grain_keeps_its_way(self) -> None:
        """Parts of a stock with grain lie along it or against it, never across."""
        shop = Shop.from_text(SHOP.replace('based_on = "birch 4"', 'based_on = "birch 4"\ngrain = "x"'))
        product = card_tray()
        stock = shop["birch 4"]
        panels = tuple(replace(panel, stock=stock) for panel in product.panels)
        plan = lay_sheets([Batch(replace(product, panels=panels), 2)], shop, QUICK)
        turned = {round(abs(part.motion.b), 9) for sheet in plan.sheets for part in sheet.parts}
        assert turned == {0.0}
        free = lay_sheets([Batch(product, 2)], studio_shop(), QUICK)
        assert any(abs(part.motion.b) > 0.5 for sheet in free.sheets for part in sheet.parts)

    def test_a_pinned_panel_stays_there(self) -> None:
        """One copy of it lies where the pin says, on the sheet as it lies on the machine."""
        pin = Pin("600 × 400", 300.0, 200.0)
        rules = replace(QUICK, pieces={"base": PieceRules(pin)}, face_up="show")
        plan = lay_sheets([Batch(card_tray(), 2)], studio_shop(), rules)
        places = [
            (part.motion.e, part.motion.f)
            for sheet in plan.sheets
            for part in sheet.parts
            if part.name == "base" and sheet.kind.sheet.id == pin.sheet
        ]
        assert (300.0, 200.0) in places

    def test_time_adds_up_by_hand(self) -> None:
        """A sheet's time is the sum over its paths of length, speed and slowing down, here without any slowing down."""
        plan = lay_sheets([Batch(card_tray())], studio_shop(), QUICK)
        for sheet in plan.sheets:
            plain = sheet_time(sheet.paths, Speeds(12.0, 150.0, 300.0))
            assert plain.cut_s == pytest.approx(sheet.cut_mm / 12.0)
            assert plain.travel_s == pytest.approx(sheet.travel_mm / 300.0)
            assert sheet.time is not None
            assert sheet.time.cut_s > plain.cut_s
            assert sheet.travel_mm <= sheet.plain_travel_mm

    def test_cost_adds_up_by_hand(self) -> None:
        """Sheets begun, offcuts free; hours at the machine's rate; screws by piece; the same by area is less."""
        screws = (Hardware("ISO 4762 M3 × 16", 4), Hardware("ISO 4032 M3", 4))
        batches = [Batch(replace(card_tray(), hardware=screws), 4)]
        plan = lay_sheets(batches, studio_shop(), QUICK)
        cost = cost_of(plan, batches, studio_shop())
        begun = sum(7.5 for sheet in plan.sheets if not sheet.kind.sheet.is_offcut)
        assert cost.sheets == pytest.approx(begun)
        seconds = sum(sheet.time.total_s for sheet in plan.sheets if sheet.time is not None)
        assert cost.machine == pytest.approx(30.0 * seconds / 3600)
        assert cost.hardware is None
        assert cost.missing == ("price of ISO 4032 M3",)
        assert cost.total is None
        assert cost.material is not None
        assert cost.material < cost.sheets
        full = Shop.from_text(SHOP.replace("[prices]", '[prices]\n"ISO 4032 M3" = 0.02'))
        assert cost_of(plan, batches, full).hardware == pytest.approx(4 * 4 * (0.06 + 0.02))

    def test_an_offcut_that_lies_turned_over_says_so(self) -> None:
        """A bar of 112 × 220 mm fits the upright limb of the L only: on the left as listed, on the right after turning over."""
        shop = studio_shop()
        made = Assembly("rail", stock=shop["birch 4"])
        made.add("bar", rectangle(112, 220))
        batches = [Batch(made.product())]
        for face_up, low, high in (("show", 6.0, 134.0), ("back", 166.0, 294.0)):
            plan = lay_sheets(batches, shop, replace(QUICK, face_up=face_up))
            (sheet,) = plan.sheets
            assert sheet.kind.sheet.is_offcut
            bar = sheet.parts[0].source.panel.loops[0].moved(sheet.parts[0].motion).bounds
            assert low - 1e-6 <= bar[0] < bar[2] <= high + 1e-6
            words = [line for line in plan_words(plan, cost_of(plan, batches, shop)) if "turn this offcut over" in line]
            assert len(words) == (face_up == "back")
            assert all("sheet-1" in line and "seen from the show face" in line for line in words)
            assert sheet_entry(sheet)["is_turned_over"] == (face_up == "back")

    def test_an_offcut_that_is_its_own_mirror_image_needs_no_turning(self) -> None:
        """A T lies the same on either face, and so does a rectangle."""
        shape = "[[0, 0], [300, 0], [300, 120], [220, 120], [220, 260], [80, 260], [80, 120], [0, 120]]"
        shop = Shop.from_text(f'{FULL_SHEETS}[[stocks."birch 4".offcuts]]\noutline_mm = {shape}\n')
        supply = supply_of(shop["birch 4"], shop, 3)
        assert supply is not None
        assert [kind.is_turned_over for kind in supply.turned_over.kinds] == [False, False]

    def test_a_window_is_no_product_and_what_falls_out_of_it_is_kept(self) -> None:
        """A frame of 380 mm with a window of 340 on 600 × 400: by hand (380² − 340²) / 240,000 = 12 %, also of the price."""
        text = FULL_SHEETS.replace("edge_margin_mm = 6", "edge_margin_mm = 5")
        shop = Shop.from_text(text)
        made = Assembly("display frame", stock=shop["birch 4"])
        made.add("frame", rectangle(380, 380).cut(rectangle(340, 340)))
        batches = [Batch(made.product())]
        plan = lay_sheets(batches, shop, replace(QUICK, least_offcut=(150, 150)))
        (sheet,) = plan.sheets
        assert sheet.utilisation == pytest.approx(0.12, abs=1e-9)
        assert (plan.uses[0].utilisation, plan.uses[0].full_utilisation) == (sheet.utilisation, sheet.utilisation)
        assert cost_of(plan, batches, shop).material == pytest.approx(0.12 * 7.5)
        # beside the frame 600 − 5 − 380 − 3 = 212 mm are left, and in it 340 − 2 · 3 mm each way
        assert sorted((left.width, left.height) for left in sheet.leftovers) == [(212.0, 400.0), (334.0, 334.0)]
        (part,) = sheet.parts
        x0, y0 = part.motion.e, part.motion.f
        window = next(left for left in sheet.leftovers if left.width == 334.0)
        assert (window.x, window.y) == (pytest.approx(5 + 20 + 3), pytest.approx(5 + 20 + 3)), (x0, y0)

    def test_a_window_in_which_a_part_lies_gives_what_is_left_beside_it(self) -> None:
        """The disc of the jar frame lies in its window: utilisation adds both, and no offcut overlaps it."""
        product = jar_frame()
        plan = lay_sheets([Batch(product)], None, replace(QUICK, least_offcut=(30, 30), effort=0))
        (sheet,) = plan.sheets
        areas = sum(panel.area_mm2 for panel in product.panels)
        assert sheet.utilisation == pytest.approx(areas / (300 * 240))
        assert plan.uses[0].utilisation == sheet.utilisation

    def test_a_mass_of_a_plywood_sheet_is_the_data_sheets(self) -> None:
        """Birch plywood, 1220 × 2440 mm: 7.9 kg at 4 mm and so on (shared/reference/materials.csv, the makers' handbook)."""
        for thickness, mass in ((4.0, 7.9), (6.5, 13.0), (9.0, 19.0), (12.0, 24.8)):
            birch = Stock("birch plywood", thickness, density=680)
            weighed = 1.22 * 2.44 * thickness * 1e-3 * 680
            assert birch.density == 680
            assert weighed == pytest.approx(mass, rel=0.05)


REFUSED: list[tuple[str, Callable[[], Any], type[PanelwrightError], str]] = [
    ("spacing below kerf", lambda: lay(spacing=0.1), NestError, "a spacing of 0.1 mm is less than the kerf of birch 4, 0.2 mm"),
    ("negative spacing", lambda: SheetRules(spacing=-1), SizeError, "spacing of the sheets is -1 mm; it must be 0 or more"),
    ("spacing wider than the sheet", lambda: lay(spacing=900.0), NestError, "more than the longer side of the largest"),
    ("margin wider than the sheet", lambda: lay(margin=400.0), NestError, "fits on no sheet"),
    ("no effort at all", lambda: lay(effort=-1), SizeError, "effort of the sheets is -1"),
    ("no time", lambda: lay(time_limit_s=0.0), SizeError, "time limit of the sheets is 0 s; it must be above 0"),
    ("a face that no plate has", lambda: SheetRules(face_up="top"), SizeError, "give 'back' or 'show'"),  # type: ignore[arg-type]  # wrong on purpose
    ("shared cuts with a spacing", lambda: SheetRules(shared_cuts=True, spacing=2), SizeError, "give one of the two"),
    ("no bridge", lambda: Bridges(0), SizeError, "number of holding bridges is 0"),
    ("a bridge of no width", lambda: Bridges(2, 0.0), SizeError, "width of holding bridges is 0 mm"),
    ("no copy", lambda: Batch(card_tray(), 0), SizeError, "copies of 'card tray' is 0"),
    ("no product", lambda: batches_of([]), NestError, "there are no products to lay out"),
    ("a pin for nobody", lambda: lay(pieces={"lid": PieceRules()}), NestError, "there is no panel 'lid' to lay out"),
    ("a pin on no sheet", lambda: lay(pieces={"base": PieceRules(Pin("9 × 9", 0, 0))}), NestError, "which is not there"),
    ("zero sheets left", lambda: lay_in(FULL_SHEETS.replace("count = 5", "count = 0")), NestError, "no offcut of birch 4 is"),
    ("too few sheets", lambda: lay_in(SHOP.replace("count = 5", "count = 1"), 9), NestError, "do not suffice: there are 1 of"),
    ("an offcut that crosses itself", lambda: lay_in(SHOP.replace("[300, 120], [140, 120]", "[0, 120]")), ShopError, "outline"),
    ("two stocks under one name", lambda: lay_in(SHOP + '[stocks."birch 4"]\nmaterial = "MDF"\n'), ShopError, "not TOML"),
    ("thickness far off nominal", lambda: lay_in(SHOP.replace("3.9", "2.8")), ShopError, "30 % off"),
    ("a negative price", lambda: lay_in(SHOP.replace("7.5", "-7.5")), ShopError, "price of"),
    ("a negative price of a screw", lambda: lay_in(SHOP.replace("0.06", "-1")), ShopError, "it must be 0 or more"),
]


def lay(**rules: Any) -> Any:
    return lay_sheets([Batch(card_tray())], studio_shop(), replace(QUICK, **rules))


def lay_in(text: str, copies: int = 1) -> Any:
    return lay_sheets([Batch(card_tray(), copies)], Shop.from_text(text), QUICK)


@pytest.mark.parametrize(("make", "error", "says"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_what_makes_no_sheets_is_refused(make: Callable[[], Any], error: type[PanelwrightError], says: str) -> None:
    """Each with the value, its limit and what to change."""
    with pytest.raises(error, match=re.escape(says)):
        make()


def test_a_million_copies_are_refused_at_once() -> None:
    """With as many sheets as needed by the limit on parts, with five sheets by their area; neither takes a second."""
    start = time.process_time()
    with pytest.raises(NestError, match="450000 parts of birch 4 are wanted in one run; at most 20000 can be") as caught:
        lay_in(SHOP.replace("count = 5 ", "#"), 90_000)
    assert (caught.value.value, caught.value.limit) == (450_000, 20_000)
    area = sum(panel.area_mm2 * panel.quantity for panel in card_tray().panels)
    sheets = 5 * 600 * 400 + 300 * 120 + 140 * 140
    most = int(sheets / area)
    with pytest.raises(NestError, match=rf"do not suffice.*ask for {most} copies at most"):
        lay_in(SHOP, most + 1)
    assert time.process_time() - start < 1.0


def test_a_panel_larger_than_every_sheet_tells_by_how_much() -> None:
    """Sizes of the panel and of the largest sheet are both in the message."""
    small = FULL_SHEETS.replace("width_mm = 600\nheight_mm = 400", "width_mm = 150\nheight_mm = 100")
    with pytest.raises(NestError, match=r"piece '\w+' of [\d.]+ × [\d.]+ mm fits on no sheet.*150 × 100 mm with a margin of 6"):
        lay_in(small)


def test_a_product_with_errors_is_not_laid_out() -> None:
    """Its panels would invite cutting."""
    from panelwright.assemblies.data.findings import Finding

    bad = replace(card_tray(), findings=(Finding("error", "OVERLAP", ("base", "front"), "they share 3 mm³"),))
    with pytest.raises(NestError, match="'card tray' has 1 error"):
        lay_sheets([Batch(bad)], studio_shop(), QUICK)


class TestBooking:
    @pytest.fixture
    def file(self, tmp_path: Path) -> Path:
        path = tmp_path / "shop.toml"
        path.write_text(SHOP, encoding="utf-8")
        return path

    def test_counts_go_down_and_offcuts_come(self, file: Path) -> None:
        """Comments stay; the offcut that was used up is gone; rectangles worth keeping are there, as the plan has them."""
        plan = lay_sheets([Batch(card_tray(), 3)], Shop.read(file), QUICK)
        used, kept = bookings(plan)
        full = used[("birch 4", ("sheets", 0), (600.0, 400.0))]
        assert full == sum(not sheet.kind.sheet.is_offcut for sheet in plan.sheets) >= 1
        assert used[("birch 4", ("offcuts", 0), (300.0, 260.0))] == 1
        assert kept
        shop = book(plan, file)
        text = file.read_text(encoding="utf-8")
        assert "# bought in May" in text
        assert "# the good boards" in text
        shelf = shop.shelf("birch 4")
        assert shelf.sheets[0].count == 5 - full
        sizes = [offcut.outline.size for offcut in shelf.offcuts]
        assert sizes == [(pytest.approx(w, abs=0.011), pytest.approx(h, abs=0.011)) for _, w, h in kept]
        assert all(w <= kw + 1e-6 and h <= kh + 1e-6 for (w, h), (_, kw, kh) in zip(sizes, kept, strict=True))

    def test_what_is_left_can_be_cut_from(self, file: Path) -> None:
        """The next run takes the offcut that the first one left."""
        book(lay_sheets([Batch(card_tray())], Shop.read(file), QUICK), file)
        after = Shop.read(file)
        plan = lay_sheets([Batch(card_tray())], after, QUICK)
        assert any(sheet.kind.sheet.is_offcut for sheet in plan.sheets)

    def test_more_than_there_is_is_refused(self, file: Path) -> None:
        """Booked twice, the sheets don't suffice, and the file stays as it was."""
        plan = lay_sheets([Batch(card_tray(), 6)], Shop.read(file), QUICK)
        book(plan, file)
        before = file.read_bytes()
        with pytest.raises(ShopError, match="was changed or booked since, so nothing was changed"):
            book(plan, file)
        assert file.read_bytes() == before
