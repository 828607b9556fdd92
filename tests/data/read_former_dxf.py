"""Reads a former.dxf with ezdxf and prints the area of every closed outline to cut.

    python3 read_former_dxf.py former.dxf > former_dxf_areas.csv

ezdxf (MIT licence, https://ezdxf.mozman.at) is a reader that this project has no part in. It takes each outline apart into
its lines and arcs; the arcs are followed in chords to 1e-6 mm.
"""

import sys

import ezdxf
from ezdxf.math import Vec2, area


def outline(polyline):
    """The places along a polyline; every arc of these drawings runs counter-clockwise."""
    places = []
    for piece in polyline.virtual_entities():
        if piece.dxftype() == "ARC":
            places += [Vec2(place) for place in piece.flattening(1e-6)]
        else:
            places += [Vec2(piece.dxf.start), Vec2(piece.dxf.end)]
    return places


document = ezdxf.readfile(sys.argv[1])
audit = document.audit()
print(f"# ezdxf {ezdxf.__version__}, {document.dxfversion}, INSUNITS {document.header['$INSUNITS']}, "
      f"errors {len(audit.errors)}, fixes {len(audit.fixes)}")
print("layer,closed,area_mm2")
for entity in document.modelspace():
    if entity.dxf.layer == "cut":
        print(f"{entity.dxf.layer},{int(entity.closed)},{abs(area(outline(entity))):.4f}")
