"""Water properties for the tests, made with the public Python package iapws 1.5.5.

    pip install iapws==1.5.5 && python tests/reference/water_properties.py > tests/reference/water_properties.csv
"""

from iapws import IAPWS97
from iapws.iapws97 import _PSat_T

print("celsius,mpa_abs,rho_kg_m3,mu_mpa_s,cp_j_kg_k,k_w_m_k,p_sat_bar")
for celsius in [0.01] + [5.0 * i for i in range(1, 21)]:
    for mpa in (0.1015, 0.3, 1.0):
        w = IAPWS97(T=celsius + 273.15, P=mpa)
        saturated = _PSat_T(celsius + 273.15) * 10
        print(
            f"{celsius},{mpa},{w.rho:.6f},{w.mu * 1000:.7f},{w.cp * 1000:.4f},{w.k:.7f},{saturated:.8f}"
        )
