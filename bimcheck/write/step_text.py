"""Python values as STEP text (ISO 10303-21, 6.4) and back, whole columns at a time."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

DIGITS = 9  # significant digits of a written real: 1 micrometre in a kilometre
_PLAIN = re.compile(r"[ -&(-\[\]-~]*")  # printable ASCII without quote and backslash
_SPECIAL = re.compile(r"[^ -~]+")
_CODES = re.compile(r"''|\\\\|\\X2\\([0-9A-F]*)\\X0\\|\\X4\\([0-9A-F]*)\\X0\\|\\X\\([0-9A-F]{2})|\\S\\(.)|\\P[A-I]\\")


def string(text: str) -> str:
    """A quoted string: quotes and backslashes doubled, all but printable ASCII as \\X2\\ or \\X4\\ codes."""
    if not _PLAIN.fullmatch(text):
        text = _SPECIAL.sub(_coded, text.replace("\\", "\\\\").replace("'", "''"))
    return f"'{text}'"


def _coded(found: re.Match[str]) -> str:
    text = found[0]
    if all(ord(c) < 0x10000 for c in text):
        return f"\\X2\\{text.encode('utf-16-be', 'surrogatepass').hex().upper()}\\X0\\"
    return f"\\X4\\{text.encode('utf-32-be', 'surrogatepass').hex().upper()}\\X0\\"


def unquoted(literal: bytes) -> str:
    """The text of a string literal given without its outer quotes; the inverse of `string`."""
    return _CODES.sub(_decoded, literal.decode("utf-8", "replace"))


def _decoded(found: re.Match[str]) -> str:
    two, four, one, shifted = found.groups()
    if two is not None:
        return bytes.fromhex(two).decode("utf-16-be", "replace")
    if four is not None:
        return bytes.fromhex(four).decode("utf-32-be", "replace")
    if one is not None:
        return chr(int(one, 16))
    if shifted is not None:
        return chr(ord(shifted) + 128)
    return found[0][0] if found[0] in ("''", "\\\\") else ""


def real(value: float) -> str:
    """A REAL with a decimal point always; `value` must be finite."""
    return reals([value])[0]


def reals(values: ArrayLike) -> list[str]:
    """REAL texts of finite values, rounded to DIGITS significant digits.  Raises ValueError on nan and inf."""
    array = np.asarray(values, dtype=float)
    if not np.isfinite(array).all():
        raise ValueError("only finite numbers can be written")
    texts = [repr(v) for v in _rounded(array).tolist()]
    for i in np.flatnonzero((array != 0) & ((np.abs(array) < 1.1e-4) | (np.abs(array) > 0.9e16))):
        texts[i] = _with_point(texts[i])
    return texts


def _rounded(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """To DIGITS significant digits; -0.0 becomes 0.0 so that equal values share one text."""
    size = np.abs(values)
    power = DIGITS - 1 - np.floor(np.log10(np.where(size > 0, size, 1.0)))
    up, down = 10.0 ** np.clip(power, 0, 300), 10.0 ** np.clip(-power, 0, 300)  # both whole: no 0.30000000000000004
    with np.errstate(over="ignore"):
        rounded = np.rint(values / down * up) / up * down
    return np.where(np.isfinite(rounded) & (power < 300), rounded, values) + 0.0


def _with_point(text: str) -> str:
    mantissa, e, exponent = text.partition("e")
    return f"{mantissa if '.' in mantissa else mantissa + '.'}E{exponent}" if e else text


def refs(numbers: Iterable[int]) -> list[str]:
    return [f"#{n}" for n in numbers]


def aggregate(items: Iterable[str]) -> str:
    return f"({','.join(items)})"


def point(values: Sequence[float]) -> str:
    return aggregate(reals(values))
