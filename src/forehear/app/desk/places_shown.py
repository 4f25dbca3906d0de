"""Where things are, as pages draw them: speakers and boards in the room, drivers and ports on the front."""

from typing import Any

import numpy as np

from forehear.design import Design, VentedBox, boards_of


def placements_shown(design: Design) -> list[dict[str, Any]]:
    """Return where speakers stand."""
    return [
        {
            "name": place.name,
            "x_m": place.position_m[0],
            "y_m": place.position_m[1],
            "z_m": place.position_m[2],
            "turn_deg": round(float(np.degrees(place.turn_rad)), 6),
            "tilt_deg": round(float(np.degrees(place.tilt_rad)), 6),
            "own": place.design_path is None,
        }
        for place in design.placements
    ]


def reflectors_shown(design: Design) -> list[dict[str, Any]]:
    """Return boards and screens as they are seen from above: least and largest x and y."""
    boards = [board for place in design.own_placements for board in boards_of(design, place)]
    found = []
    for reflector in (*design.brief.reflectors, *boards):
        x_m, y_m, _ = reflector.middle_m
        lies = reflector.normal[2] != 0
        along = reflector.height_m if lies else reflector.width_m * abs(reflector.normal[1])
        across = reflector.width_m if lies else reflector.width_m * abs(reflector.normal[0])
        found.append(
            {
                "name": reflector.name,
                "x_m": [round(x_m - along / 2, 4), round(x_m + along / 2, 4)],
                "y_m": [round(y_m - across / 2, 4), round(y_m + across / 2, 4)],
            }
        )
    return found


def _mm(length_m: float) -> float:
    return round(1000 * length_m, 4)


def front_shown(design: Design) -> dict[str, Any]:
    """Return cabinet, drivers and ports, as they lie on the front."""
    way_of = {name: way.name for way in design.ways for name in way.drivers}
    cabinet = design.cabinet
    drivers = [
        {
            "name": driver.name,
            "way": way_of[driver.name],
            "kind": driver.part.kind,
            "part": driver.part.name,
            "across_mm": _mm(driver.centre_m[0]),
            "up_mm": _mm(driver.centre_m[1]),
            "set_back_mm": _mm(driver.set_back_m),
            "radius_mm": _mm(driver.part.diaphragm_radius_m),
            "overall_mm": _mm(2 * driver.part.overall_radius_m),
        }
        for driver in design.drivers
    ]
    ports = [
        {
            "way": way.name,
            "across_mm": _mm(way.enclosure.port_centre_m[0]),
            "up_mm": _mm(way.enclosure.port_centre_m[1]),
            "radius_mm": _mm(way.enclosure.port_radius_m),
        }
        for way in design.ways
        if isinstance(way.enclosure, VentedBox)
    ]
    sizes = {
        "width_mm": _mm(cabinet.width_m),
        "height_mm": _mm(cabinet.height_m),
        "depth_mm": _mm(cabinet.depth_m),
        "edge_radius_mm": _mm(cabinet.edge_radius_m),
        "wall_mm": _mm(cabinet.wall_m),
    }
    return {"cabinet": sizes, "drivers": drivers, "ports": ports}
