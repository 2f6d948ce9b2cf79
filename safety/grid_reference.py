"""A British National Grid reference from a latitude and a longitude, as the search services ask for it.

Ordnance Survey, "A guide to coordinate systems in Great Britain": annexe C (Transverse Mercator) and
the published Helmert shift from WGS84 to OSGB36, which is good to about five metres.
"""

import math

AIRY = (6377563.396, 6356256.909)
WGS84 = (6378137.0, 6356752.314245)
F0, LAT0, LON0, E0, N0 = 0.9996012717, math.radians(49), math.radians(-2), 400000.0, -100000.0
SHIFT_M = (-446.448, 125.157, -542.060)
TURN_S = (-0.1502, -0.2470, -0.8421)
SCALE_PPM = 20.4894


def grid_reference(latitude: float, longitude: float) -> str | None:
    """Two letters and eight figures (ten metres), such as NH 1234 5678; None outside Great Britain."""
    if not (49.8 <= latitude <= 61 and -7.6 <= longitude <= 2):
        return None
    east, north = eastings(*to_osgb36(latitude, longitude))
    return letters(east, north)


def letters(east: float, north: float) -> str | None:
    """The grid letters and four figures each way for metres east and north; None off the grid."""
    column, row = int(east // 100_000), int(north // 100_000)
    if not (0 <= column <= 6 and 0 <= row <= 12):
        return None
    first = (19 - row) - (19 - row) % 5 + (column + 10) // 5
    second = (19 - row) * 5 % 25 + column % 5
    pair = "".join(chr(ord("A") + place + (place > 7)) for place in (first, second))  # there is no I
    return f"{pair} {int(east % 100_000) // 10:04} {int(north % 100_000) // 10:04}"


def to_osgb36(latitude: float, longitude: float) -> tuple[float, float]:
    """From the phone's datum to the map's, in degrees."""
    x, y, z = _cartesian(math.radians(latitude), math.radians(longitude), WGS84)
    rx, ry, rz = (math.radians(seconds / 3600) for seconds in TURN_S)
    scale = 1 + SCALE_PPM * 1e-6
    tx, ty, tz = SHIFT_M
    return _geodetic(
        tx + scale * x - rz * y + ry * z, ty + rz * x + scale * y - rx * z, tz - ry * x + rx * y + scale * z, AIRY
    )


def eastings(latitude: float, longitude: float) -> tuple[float, float]:
    """Metres east and north on the National Grid, from OSGB36 degrees."""
    a, b = AIRY
    lat, lon = math.radians(latitude), math.radians(longitude)
    e2 = 1 - (b * b) / (a * a)
    sin, cos, tan2 = math.sin(lat), math.cos(lat), math.tan(lat) ** 2
    nu = a * F0 / math.sqrt(1 - e2 * sin * sin)
    rho = a * F0 * (1 - e2) / (1 - e2 * sin * sin) ** 1.5
    eta2 = nu / rho - 1
    p = lon - LON0
    north = (
        _meridian(lat) + N0 + nu / 2 * sin * cos * p**2
        + nu / 24 * sin * cos**3 * (5 - tan2 + 9 * eta2) * p**4
        + nu / 720 * sin * cos**5 * (61 - 58 * tan2 + tan2**2) * p**6
    )  # fmt: skip
    east = (
        E0 + nu * cos * p + nu / 6 * cos**3 * (nu / rho - tan2) * p**3
        + nu / 120 * cos**5 * (5 - 18 * tan2 + tan2**2 + 14 * eta2 - 58 * tan2 * eta2) * p**5
    )  # fmt: skip
    return east, north


def _meridian(lat: float) -> float:
    a, b = AIRY
    n = (a - b) / (a + b)
    less, more = lat - LAT0, lat + LAT0
    return b * F0 * (
        (1 + n + 1.25 * n**2 + 1.25 * n**3) * less
        - (3 * n + 3 * n**2 + 21 / 8 * n**3) * math.sin(less) * math.cos(more)
        + (15 / 8 * n**2 + 15 / 8 * n**3) * math.sin(2 * less) * math.cos(2 * more)
        - 35 / 24 * n**3 * math.sin(3 * less) * math.cos(3 * more)
    )  # fmt: skip


def _cartesian(lat: float, lon: float, ellipsoid: tuple[float, float]) -> tuple[float, float, float]:
    a, b = ellipsoid
    e2 = 1 - (b * b) / (a * a)
    nu = a / math.sqrt(1 - e2 * math.sin(lat) ** 2)
    return nu * math.cos(lat) * math.cos(lon), nu * math.cos(lat) * math.sin(lon), (1 - e2) * nu * math.sin(lat)


def _geodetic(x: float, y: float, z: float, ellipsoid: tuple[float, float]) -> tuple[float, float]:
    a, b = ellipsoid
    e2 = 1 - (b * b) / (a * a)
    p = math.hypot(x, y)
    lat = math.atan2(z, p * (1 - e2))
    for _ in range(10):
        nu = a / math.sqrt(1 - e2 * math.sin(lat) ** 2)
        lat = math.atan2(z + e2 * nu * math.sin(lat), p)
    return math.degrees(lat), math.degrees(math.atan2(y, x))
