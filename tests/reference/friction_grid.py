"""Friction gradients for the tests, made with the public Python packages fluids 1.3.1 (exact root of
Colebrook-White) and iapws 1.5.5 (properties at 0.3 MPa).

    pip install fluids==1.3.1 iapws==1.5.5
    python tests/reference/friction_grid.py > tests/reference/friction_grid.csv

Rows with a Reynolds number from 2320 to 4000 are left out: what happens there is convention.
"""

from math import pi

from fluids.friction import Colebrook
from iapws import IAPWS97

COPPER = {
    13.6: [0.03, 0.05, 0.08, 0.10, 0.12, 0.15, 0.20, 0.25, 0.30],
    20.2: [0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 0.60],
    26.2: [0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.80, 1.00],
    32.6: [0.20, 0.40, 0.60, 0.80, 1.00, 1.20, 1.60],
    39.6: [0.30, 0.60, 0.90, 1.20, 1.50, 2.00, 2.50],
    51.6: [0.50, 1.00, 1.50, 2.00, 3.00, 4.00],
}
FLOWS = [0.05, 0.10, 0.20, 0.30, 0.50]
PLASTIC = [11.7, 17.7, 22.5, 12.0, 15.5, 20.0, 26.0]
STEEL = [16.1, 21.7, 27.3]


def row(bore, roughness, flow, celsius):
    w = IAPWS97(T=celsius + 273.15, P=0.3)
    d = bore / 1000
    velocity = 4 * flow / 1000 / (pi * d * d)
    reynolds = velocity * d * w.rho / w.mu
    if reynolds < 2320:
        factor = 64 / reynolds
    elif reynolds < 4000:
        return
    else:
        factor = Colebrook(Re=reynolds, eD=roughness / bore)
    gradient = factor / d * w.rho * velocity**2 / 2
    print(f"{bore},{roughness},{flow},{celsius},{velocity:.5f},{reynolds:.2f},{factor:.7f},{gradient:.4f}")


print("bore_mm,roughness_mm,flow_l_s,celsius,velocity_m_s,reynolds,factor,gradient_pa_m")
for bore, flows in COPPER.items():
    for flow in flows:
        for celsius in (10, 50, 60, 75):
            row(bore, 0.0015, flow, celsius)
for bores, roughness in ((PLASTIC, 0.007), (STEEL, 0.046)):
    for bore in bores:
        for flow in FLOWS:
            for celsius in (10, 60):
                row(bore, roughness, flow, celsius)
