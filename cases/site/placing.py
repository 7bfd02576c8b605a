"""Coordinate systems by their EPSG code: where true north is, and longitude and latitude."""

from functools import cache

import numpy as np
from pyproj import CRS, Proj, Transformer
from pyproj.exceptions import CRSError

from ...solver.errors import CaseError
from ...solver.model import Floats
from ...solver.plan_place import PlanPlace, SitePlace
from . import schema

_world = 4326  # WGS 84, longitude and latitude


@cache
def _system(epsg: int) -> CRS:
    return CRS.from_epsg(epsg)


def require_projected(epsg: int) -> str:
    """What is wrong with a code; empty where it is a projected system."""
    try:
        system = _system(epsg)
    except CRSError:
        return f"no coordinate system has the EPSG code {epsg}; look the code of yours up"
    if not system.is_projected:
        return (
            f"EPSG {epsg} ({system.name}) is no projected system: a plan needs eastings and "
            "northings, such as those of a UTM zone"
        )
    return ""


def site_place(given: schema.Site) -> SitePlace:
    """Place of a case on the earth.

    Raises
    ------
    CaseError
        If its origin is not where its coordinate system is defined.
    """
    system = _system(given.epsg)
    unit = float(system.axis_info[0].unit_conversion_factor)
    place = PlanPlace(given.origin, -given.rotation, unit)
    east, north = (np.array(given.origin) / unit).tolist()
    longitude, latitude = _between(given.epsg, _world).transform(east, north)
    area = system.area_of_use
    inside = area is None or (
        np.isfinite([longitude, latitude]).all()
        and area.south - 1 <= latitude <= area.north + 1
        and (longitude - area.west + 1) % 360 <= (area.east - area.west) % 360 + 2
    )
    if not inside:
        assert area is not None
        msg = (
            f"({given.origin[0]:,.0f}, {given.origin[1]:,.0f}) m is not where EPSG "
            f"{given.epsg} ({system.name}, {area.name}) is defined; give easting and northing, "
            "in this order"
        )
        raise CaseError(msg)
    turn = np.radians(Proj(system).get_factors(longitude, latitude).meridian_convergence)
    # Grid north lies `rotation` clockwise of +y, true north the convergence before that.
    north = float(given.rotation - turn)
    return SitePlace(given.epsg, system.name, place, (longitude, latitude), north)


def from_system(site: SitePlace, system: str, places: Floats) -> Floats:
    """Points of the case, shape (n, 2), of easting and northing, or longitude and latitude.

    `CaseError` if the coordinate system, a code or text in full, is not known. [m]
    """
    try:
        way = _between(system, site.epsg)
    except CRSError as error:
        msg = f"its coordinate system is not known: {system[:80]!r}; save it in another one"
        raise CaseError(msg) from error
    return site.place.own(np.column_stack(way.transform(places[:, 0], places[:, 1])))


@cache
def _between(first: int | str, second: int) -> Transformer:
    return Transformer.from_crs(first, second, always_xy=True)
