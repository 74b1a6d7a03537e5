#!/usr/bin/env python3
"""Follows the water of a soil through a year with pyfao56, and works out evapotranspiration with pyet and pyfao56.

    python3 tests/reference/water_balance_check.py YEARS.json

A list of years; each has `altitude_m`, `latitude_deg`, `fc`, `wp`, `root_depth_m`, `depletion_share`, `kc`, `start_mm`,
and `days`, each with the weather, the water of heads and the evapotranspiration that the balance is to use. For each day
a line: evapotranspiration by pyet (FAO-56) and by pyfao56 (ASCE 2005), then by pyfao56 what the turf uses, what
percolates, the depletion.

pyfao56 (USDA-ARS) knows the dual crop coefficient only. A surface layer that holds no water evaporates nothing, so that
Ke is nought and the basal coefficient is the single one; nothing of the balance of the root zone is changed by that.
"""

import datetime
import json
import math
import sys

import pandas
import pyet
import pyfao56

ALMOST = 1.0 - 1e-12


def weather(told):
    wth = pyfao56.Weather()
    wth.z, wth.lat, wth.wndht = told["altitude_m"], told["latitude_deg"], 2.0
    nan = float("nan")
    for day in told["days"]:
        wth.wdata.loc[key(day)] = [
            day["solar_mj"], day["tmax_c"], day["tmin_c"], nan, nan, day["rh_max_pct"], day["rh_min_pct"],
            day["wind_m_s"], day["rain_mm"], day["eto_mm"], "M",
        ]
    return wth


def key(day):
    return datetime.date.fromisoformat(day["date"]).strftime("%Y-%j")


def irrigation(told):
    irr = pyfao56.Irrigation()
    for day in told["days"]:
        if day["irrigation_mm"] > 0.0:
            year, number = key(day).split("-")
            irr.addevent(int(year), int(number), day["irrigation_mm"], 1.0)
    return irr


def balance(told):
    kc, depth = told["kc"], told["root_depth_m"]
    par = pyfao56.Parameters(
        # The first coefficient must differ from the second, or pyfao56 divides by nought.
        Kcbini=kc * ALMOST, Kcbmid=kc, Kcbend=kc * ALMOST, Lini=1, Ldev=1, Lmid=400, Lend=1, hini=0.1, hmax=0.1,
        thetaFC=told["fc"], thetaWP=told["wp"], theta0=told["fc"] - told["start_mm"] / (1000.0 * depth),
        Zrini=depth, Zrmax=depth, pbase=told["depletion_share"], Ze=1e-9, REW=-1e9,
    )
    days = told["days"]
    model = pyfao56.Model(key(days[0]), key(days[-1]), par, weather(told), irr=irrigation(told), cons_p=True)
    model.run()
    return model.odata


def by_pyet(told):
    frame = pandas.DataFrame(told["days"])
    frame.index = pandas.to_datetime(frame["date"])
    return pyet.pm_fao56(
        (frame["tmin_c"] + frame["tmax_c"]) / 2.0, frame["wind_m_s"], rs=frame["solar_mj"], tmax=frame["tmax_c"],
        tmin=frame["tmin_c"], rhmax=frame["rh_max_pct"], rhmin=frame["rh_min_pct"], elevation=told["altitude_m"],
        lat=math.radians(told["latitude_deg"]),
    )


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        years = json.load(file)
    for told in years:
        rows, eto, wth = balance(told), by_pyet(told), weather(told)
        for day, first, (_, row) in zip(told["days"], eto, rows.iterrows()):
            figures = [first, wth.compute_etref(key(day)), row["ETa"], row["DP"], row["Dr"]]
            print("day", *(repr(float(figure)) for figure in figures))


if __name__ == "__main__":
    main()
