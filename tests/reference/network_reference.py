"""Pressures and flows for the tests, made with the public Python package wntr 1.5.0 and the solver
it carries (Darcy-Weisbach).

    pip install wntr==1.5.0 six setuptools
    python tests/reference/network_reference.py > tests/reference/network_reference.csv

Two networks, both invented: a looped cold-water network of copper tube, and a heating circuit of
two loops in reverse return with a pump. The liquid's viscosity is that of IAPWS-IF97 at 10 and
60 degrees C (0.3 MPa). Heads are metres of the liquid, flows l/s, lengths m, bores mm.
"""

import os
import tempfile
import warnings

import wntr

BASE_VISCOSITY = 1.1e-5 * 0.3048**2  # the solver's own unit of viscosity, m2/s
ROUGHNESS = 0.0015e-3

COLD = {
    "viscosity": 1.30605e-6,
    "fixed": {"main": 30.0},
    "nodes": {  # height, demand
        "a": (0.0, 0.0), "b": (1.0, 0.15), "c": (1.0, 0.2), "d": (3.0, 0.1),
        "e": (3.0, 0.3), "f": (0.5, 0.0), "g": (6.0, 0.2),
    },
    "pipes": {  # from, to, length, bore, zeta
        "p1": ("main", "a", 12.0, 32.6, 4.0), "p2": ("a", "b", 8.0, 26.2, 2.0),
        "p3": ("b", "c", 10.0, 20.2, 3.0), "p4": ("a", "d", 9.0, 26.2, 1.5),
        "p5": ("d", "e", 7.0, 20.2, 2.5), "p6": ("c", "e", 6.0, 13.6, 2.0),
        "p7": ("b", "d", 5.0, 20.2, 1.0), "p8": ("e", "g", 4.0, 20.2, 2.0),
        "p9": ("a", "f", 3.0, 20.2, 0.0), "p10": ("f", "c", 11.0, 20.2, 4.0),
    },
    "pump": None,
}
HEATING = {
    "viscosity": 0.47390e-6,
    "fixed": {"vessel": 10.0},
    "nodes": {
        "return": (0.0, 0.0), "flow": (0.0, 0.0), "f1": (0.0, 0.0), "f2": (2.5, 0.0),
        "r1": (0.0, 0.0), "r2": (2.5, 0.0), "out": (0.0, 0.0),
    },
    "pipes": {
        "vessel-pipe": ("vessel", "return", 1.0, 13.6, 0.0),
        "boiler": ("out", "flow", 6.0, 26.2, 14.0),
        "main-flow-1": ("flow", "f1", 8.0, 26.2, 4.0),
        "main-flow-2": ("f1", "f2", 7.0, 20.2, 3.0),
        "radiators-1": ("f1", "r1", 24.0, 13.6, 22.0),
        "radiators-2": ("f2", "r2", 18.0, 13.6, 30.0),
        "main-return-1": ("r1", "r2", 7.0, 20.2, 3.0),
        "main-return-2": ("r2", "return", 12.0, 26.2, 6.0),
    },
    "pump": ("return", "out", [(0.0, 6.0), (0.15, 5.6), (0.30, 4.8), (0.60, 2.0)]),
}


def solve(case):
    net = wntr.network.WaterNetworkModel()
    options = net.options.hydraulic
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        options.headloss = "D-W"
    options.viscosity = case["viscosity"] / BASE_VISCOSITY
    options.accuracy = 1e-8
    options.trials = 500
    options.inpfile_units = "LPS"
    for name, head in case["fixed"].items():
        net.add_reservoir(name, base_head=head)
    for name, (height, demand) in case["nodes"].items():
        net.add_junction(name, base_demand=demand / 1000, elevation=height)
    for name, (a, b, length, bore, zeta) in case["pipes"].items():
        net.add_pipe(name, a, b, length=length, diameter=bore / 1000, roughness=ROUGHNESS,
                     minor_loss=zeta)
    if case["pump"]:
        a, b, points = case["pump"]
        net.add_curve("curve", "HEAD", [(q / 1000, h) for q, h in points])
        net.add_pump("pump", a, b, pump_type="HEAD", pump_parameter="curve")
    net.options.time.duration = 0
    with tempfile.TemporaryDirectory() as folder:
        sim = wntr.sim.EpanetSimulator(net)
        return sim.run_sim(file_prefix=os.path.join(folder, "run"))


print("network,what,name,value")
for label, case in (("cold", COLD), ("heating", HEATING)):
    results = solve(case)
    head = results.node["head"].iloc[0]
    flow = results.link["flowrate"].iloc[0]
    for name in case["nodes"]:
        print(f"{label},head,{name},{head[name]:.6f}")
    for name in list(case["pipes"]) + (["pump"] if case["pump"] else []):
        print(f"{label},flow,{name},{flow[name] * 1000:.7f}")
