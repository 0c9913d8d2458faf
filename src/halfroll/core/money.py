"""Amounts of money: currencies by ISO 4217, their smallest coin, and how an amount is rounded and shown.

Amounts are plain numbers of the currency; only what is paid or printed is rounded to the coin.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from types import MappingProxyType

from halfroll.core.text import THIN

_TWO = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD
EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL
MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR
SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD XCG YER ZAR ZMW ZWG
"""
_NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
_THREE = "BHD IQD JOD KWD LYD OMR TND"

DECIMALS: Mapping[str, int] = MappingProxyType(
    {code: n for codes, n in ((_TWO, 2), (_NONE, 0), (_THREE, 3)) for code in codes.split()}
)
"""Currencies people pay with and the decimals of their smallest coin, ISO 4217 list one (from memory; funds, metals and test codes are left
out)."""

_NO_COINS = 1e15


def is_currency(code: str) -> bool:
    """Whether `code` is a currency of ISO 4217."""
    return code in DECIMALS


def near(code: str) -> list[str]:
    """Currencies that may have been meant."""
    return difflib.get_close_matches(code.strip().upper(), list(DECIMALS), n=3, cutoff=0.5)


def rounded(amount: float, currency: str) -> float:
    """An amount to the smallest coin of its currency, halves away from zero as tradesmen do.

    An amount so large that a float has no coins in it stays as it is.
    """
    if not abs(amount) < _NO_COINS:
        return float(amount)
    step = Decimal(1).scaleb(-DECIMALS.get(currency, 2))
    return float(Decimal(repr(float(amount))).quantize(step, rounding=ROUND_HALF_UP))


def format_money(amount: float, currency: str) -> str:
    """An amount as it is printed, "12.50 EUR", with a narrow space."""
    return f"{rounded(amount, currency):.{DECIMALS.get(currency, 2)}f}{THIN}{currency}"
