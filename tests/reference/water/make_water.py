"""Friction, properties and random manifolds, to hold the project's water against open libraries.

Made with the versions that `made_with` in water.json repeats:
    pip install wntr==1.5.0 six fluids==1.3.1 CoolProp==8.0.0 iapws==1.5.5
    python3 make_water.py > water.json

Properties: CoolProp (IAPWS-95 and its incompressible mixtures) and iapws (IAPWS-IF97), at 2 bar.
Friction: the exact Colebrook-White of fluids (`friction.Colebrook(Re, eD, tol=-1)`).
Manifolds: EPANET 2.2 in wntr, with its Darcy-Weisbach friction: Hagen-Poiseuille below Re 2000, Swamee-Jain above
4000, a cubic between them. EPANET takes g as 9.81456 m/s² (32.2 ft/s² over 3.28084) and viscosity as a multiple of
1.1e-5 ft²/s; heads are turned into pressures with the same g.

Every manifold has 1 to 12 loops of one fluid, each with its valves as one loss coefficient, some shut; a pump of
constant head or with a curve of four points; and a common path or none. Every fifth has two manifolds on one pump.
"""

import json
import random
import sys

import CoolProp
import CoolProp.CoolProp as coolprop
import fluids
import iapws
import wntr

GRAVITY = 32.2 / 3.28084
VISCOSITY = 1.1e-5 * 0.3048**2
MANIFOLDS = 40
NUMBERS = random.Random(1264)


def number(least, greatest, digits=4):
    return round(NUMBERS.uniform(least, greatest), digits)


def properties():
    rows = []
    for celsius in (5, 10, 20, 30, 35, 40, 45, 50, 60, 70, 80, 90):
        row = {"fluid": "water", "celsius": celsius}
        other = iapws.IAPWS97(T=celsius + 273.15, P=0.2)
        for name, key, of_other in (("density", "D", other.rho), ("specific_heat", "C", other.cp * 1e3),
                                    ("viscosity", "V", other.mu), ("conductivity", "L", other.k)):
            row[name] = [coolprop.PropsSI(key, "T", celsius + 273.15, "P", 2e5, "Water"), of_other]
        rows.append(row)
    for glycol, code in (("propylene", "MPG"), ("ethylene", "MEG")):
        for percent in (15, 20, 25, 30, 40, 50):
            for celsius in (5, 20, 35, 45, 60):
                row = {"fluid": glycol, "mass_percent": percent, "celsius": celsius}
                for name, key in (("density", "D"), ("specific_heat", "C"), ("viscosity", "V"), ("conductivity", "L")):
                    found = coolprop.PropsSI(key, "T", celsius + 273.15, "P", 2e5, f"INCOMP::{code}-{percent}%")
                    row[name] = [found]
                rows.append(row)
    return rows


def friction():
    rows = []
    for relative in (0.0, 1e-4, 5.8333e-4, 1e-3, 2e-3, 5e-3):
        for reynolds in (4e3, 5e3, 7e3, 1e4, 2e4, 5e4, 1e5, 3e5):
            rows.append([relative, reynolds, fluids.friction.Colebrook(reynolds, relative, tol=-1)])
        for reynolds in (100.0, 800.0, 1500.0, 2000.0):
            rows.append([relative, reynolds, fluids.friction_laminar(reynolds)])
    return rows


def loss_of(kv, bore):
    """The loss coefficient of a valve of flow coefficient kv (m³/h at 1 bar) by the velocity in a bore."""
    area = 3.141592653589793 / 4 * bore**2
    return 2 * area**2 * 1.296e9 / kv**2


def manifold():
    loops = []
    for _ in range(NUMBERS.randint(1, 12)):
        bore = NUMBERS.choice((8.0, 10.0, 12.0, 12.0, 13.0, 16.0))
        loops.append({
            "length": number(20, 120, 1),
            "bore_mm": bore,
            "roughness_mm": NUMBERS.choice((0.0015, 0.007, 0.01)),
            "half_turns": NUMBERS.randint(2, 20),
            "kv": [number(1.0, 3.0, 2), number(0.12, 1.1, 3)],
            "shut": NUMBERS.random() < 0.15,
        })
    loops[0]["shut"] = False
    common = None
    if NUMBERS.random() < 0.7:
        common = {"length": number(2, 30, 1), "bore_mm": NUMBERS.choice((16.0, 20.2, 26.2)), "roughness_mm": 0.007,
                  "fittings": number(0, 12, 1), "kv": number(2.0, 8.0, 2)}
    return {"loops": loops, "common": common}


def plant(number_of):
    celsius = number(25, 50, 1)
    glycol = NUMBERS.random() < 0.3
    fluid = f"INCOMP::MPG-{NUMBERS.choice((20, 25, 30))}%" if glycol else "Water"
    density = coolprop.PropsSI("D", "T", celsius + 273.15, "P", 2e5, fluid)
    viscosity = coolprop.PropsSI("V", "T", celsius + 273.15, "P", 2e5, fluid)
    manifolds = [manifold() for _ in range(2 if number_of % 5 == 4 else 1)]
    shut_off = number(5, 60, 1) * 1e3
    if NUMBERS.random() < 0.5 and len(manifolds) == 1:
        pump = {"constant_pa": shut_off}
    else:
        last = number(0.5, 2.0, 3) * 1e-3
        shares = sorted(NUMBERS.uniform(0.15, 0.9) for _ in range(2))
        heads = [1.0, number(0.75, 0.95), number(0.4, 0.7), 0.02]
        flows = [0.0, shares[0] * last, shares[1] * last, last]
        pump = {"curve": [[round(flow, 7), round(shut_off * head, 1)] for flow, head in zip(flows, heads)]}
    given = {"density": density, "viscosity": viscosity, "pump": pump, "manifolds": manifolds}
    given["is"] = solved(given)
    return given


def solved(given):
    """What EPANET makes of it: the flow of each loop in kg/s, and the pressure across each manifold in Pa."""
    density = given["density"]
    head = lambda pascals: pascals / (density * GRAVITY)
    network = wntr.network.WaterNetworkModel()
    options = network.options.hydraulic
    options.headloss = "D-W"
    options.viscosity = given["viscosity"] / density / VISCOSITY
    options.accuracy = 1e-8
    options.trials = 500
    options.inpfile_units = "LPS"
    network.options.time.duration = 0
    network.options.quality.parameter = "NONE"
    network.add_reservoir("return", base_head=0.0)
    # EPANET wants a junction and a pipe; no water flows here.
    network.add_junction("idle", elevation=0.0)
    network.add_pipe("idle", "idle", "return", length=1.0, diameter=0.1, roughness=1e-5)
    pump = given["pump"]
    if "constant_pa" in pump:
        network.add_reservoir("flow", base_head=head(pump["constant_pa"]))
    else:
        network.add_junction("flow", elevation=0.0)
        network.add_curve("pump", "HEAD", [(flow, head(pressure)) for flow, pressure in pump["curve"]])
        network.add_pump("pump", "return", "flow", "HEAD", "pump")
    for at, it in enumerate(given["manifolds"]):
        bar = "flow"
        if it["common"]:
            common, bar = it["common"], f"bar{at}"
            network.add_junction(bar, elevation=0.0)
            bore = common["bore_mm"] / 1e3
            network.add_pipe(f"common{at}", "flow", bar, length=common["length"], diameter=bore,
                             roughness=common["roughness_mm"] / 1e3,
                             minor_loss=common["fittings"] + loss_of(common["kv"], bore))
        for nth, line in enumerate(it["loops"]):
            if line["shut"]:
                continue
            bore = line["bore_mm"] / 1e3
            network.add_pipe(f"loop{at}-{nth}", bar, "return", length=line["length"], diameter=bore,
                             roughness=line["roughness_mm"] / 1e3,
                             minor_loss=0.3 * line["half_turns"] + sum(loss_of(kv, bore) for kv in line["kv"]))
    found = wntr.sim.EpanetSimulator(network).run_sim(version=2.2)
    flows = found.link["flowrate"].iloc[0]
    heads = found.node["head"].iloc[0]
    of_manifolds = []
    for at, it in enumerate(given["manifolds"]):
        of_loops = [None if line["shut"] else float(flows[f"loop{at}-{nth}"]) * density
                    for nth, line in enumerate(it["loops"])]
        bar = f"bar{at}" if it["common"] else "flow"
        of_manifolds.append({"flows": of_loops, "across": float(heads[bar]) * density * GRAVITY})
    return of_manifolds


def rounded(value):
    if isinstance(value, float):
        return float(f"{value:.9g}")
    if isinstance(value, list):
        return [rounded(one) for one in value]
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    return value


def main():
    made_with = (f"wntr {wntr.__version__} (EPANET 2.2), fluids {fluids.__version__}, CoolProp {CoolProp.__version__}, "
                 f"iapws {iapws.__version__}, Python {sys.version.split()[0]}")
    print('{"made_with": ' + json.dumps(made_with) + ",")
    for name, rows in (("properties", properties()), ("friction", friction()),
                       ("plants", [plant(at) for at in range(MANIFOLDS)])):
        last = name == "plants"
        print(f'"{name}": [')
        print(",\n".join(json.dumps(rounded(row), separators=(",", ":")) for row in rows))
        print("]}" if last else "],")


main()
