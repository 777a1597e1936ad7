"""Layer tables of an office's own: chosen by name, complete or built on another, and fit for drawing files."""

import io

import ezdxf
import pytest
from test_dxf import everything, tags
from test_dxf_profiles import CHOSEN

import detailgen
from detailgen.errors import InputError

OWN = """
[standards.quay]
extends = "ncs"
membrane = { name = "Q_Waterproofing", weight = 0.70, aci = 5 }
"struct.conc" = { name = "Q_Cut" }
insulation = { name = "q_cut", weight = 0.25 }
soil = { name = "Q_Cut" }
hatch = { name = "Q_Hatch", description = "Ließ ≥ 1" }
"""


@pytest.fixture
def hall(tmp_path):
    def make(office, choice='layers = "quay"', more=""):
        (tmp_path / "office.toml").write_text(office, encoding="utf-8")
        table = f'[office]\nmaterials = ["office.toml"]\n{choice}\n{more}\n'
        file = tmp_path / "hall.toml"
        text = (
            CHOSEN.replace("[sheet]", table + "[sheet]").replace('"portable"', '"full"').replace('"R2018"', '"R2010"')
        )
        file.write_text(text, encoding="utf-8")
        return detailgen.load(file)

    return make


@pytest.mark.parametrize("profile", ["full", "portable"])
def test_an_office_draws_on_its_own_layers(hall, profile):
    detail = hall(OWN).on_paper(dxf_profile=profile)["C1"]
    doc = ezdxf.read(io.StringIO(detail.render("dxf").decode()))
    audit = doc.audit()
    assert not audit.errors and not audit.fixes
    on = {}
    for e in doc.modelspace():
        on.setdefault(tags(e).get("layer"), set()).add(e.dxf.layer)
    assert on["membrane"] == {"Q_Waterproofing"} and doc.layers.get("Q_Waterproofing").dxf.color == 5
    assert on["insulation"] == on["struct.conc"] == on["soil"] == {"Q_Cut"}, "one layer whatever the capitals"
    assert on["hatch"] == {"Q_Hatch"} and doc.layers.get("Q_Hatch").description == "Ließ ≥ 1"
    assert on["note"] == {"A-ANNO-NOTE"}, "the rest as in the table that it extends"
    known = {layer.dxf.name for layer in doc.layers}
    assert all(e.dxf.layer in known for e in everything(doc))


def test_layers_that_share_a_name_keep_each_part_s_pen(hall):
    doc = ezdxf.read(io.StringIO(hall(OWN)["C1"].render("dxf").decode()))
    pens = {}
    for e in doc.modelspace().query('LWPOLYLINE[layer=="Q_Cut"]'):
        pens.setdefault(tags(e)["layer"], set()).add(e.dxf.get("lineweight", doc.layers.get("Q_Cut").dxf.lineweight))
    assert (pens["struct.conc"], pens["insulation"], pens["soil"]) == ({50}, {25}, {35})


def test_a_table_of_the_office_changes_the_input_digest(hall):
    assert hall(OWN).digest != hall(OWN.replace("Q_Hatch", "Q_Pattern")).digest


@pytest.mark.parametrize(
    ("office", "choice", "words"),
    [
        (OWN, 'layers = "quai"', "did you mean 'quay'"),
        (OWN, "layers = 3", "office.layers"),
        (OWN, 'style = "presentaton"', "did you mean 'presentation'"),
        (OWN.replace('"ncs"', '"ncss"'), "", "did you mean 'ncs'"),
        (OWN.replace('extends = "ncs"\n', ""), "", "must also give"),
        (OWN.replace('"Q_Hatch"', '"Q/Hatch"'), "", "is no name of a layer"),
        (OWN.replace('"Q_Hatch"', '"0"'), "", "keep for themselves"),
        (OWN.replace("aci = 5", "aci = 300"), "", "colour number 1 … 255"),
        (OWN.replace("weight = 0.70", "weight = 70.0"), "", "up to 2.11 mm"),
        (
            OWN.split("extends")[0]
            + 'hatch = { name = "H", weight = 1, linetype = "DASHED", aci = 8, description = "" }',
            "",
            "lacks",
        ),
        ('[tints.foam]\ncolour = "yellow"\n', "", "six digits"),
        ('[tints.foam]\nlayers = ["insulaton"]\n', "", "did you mean 'insulation'"),
    ],
)
def test_a_table_that_cannot_be_drawn_with_is_refused_in_words(hall, office, choice, words):
    with pytest.raises(InputError) as refused:
        hall(office, choice or 'layers = "quay"')
    assert words in str(refused.value), str(refused.value)


def test_an_office_gives_its_own_tints(hall):
    detail = hall('[tints.foam]\ncolour = "#ffee99"\n', 'style = "presentation"')["C1"]
    assert "#ffee99" in detail.render("svg").decode()
