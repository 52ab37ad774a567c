"""A drop that dries and cools in still air: the whole course integrated (radius and temperature together), to hold the closed forms of
crates/theory/src/drying to. The vapour is given here by a simple law of its own: c_s(T) = 0.0173 exp(0.0575 (T - 293.15)) kg/m^3."""
import math
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

D, K, H, RHO, C = 2.45e-5, 0.0257, 2.45e6, 998.2, 4184.0
SB = 5.670374419e-8


def vapour(t):
    return 0.0173 * math.exp(0.0575 * (t - 293.15))


def rest(room, humidity, radius, emissivity, power=0.0):
    far = humidity * vapour(room)

    def gain(t):
        return K * (room - t) + radius * emissivity * SB * (room**4 - t**4) + power / (4 * math.pi * radius) - H * D * (vapour(t) - far)
    return brentq(gain, room - 60, room + 60, xtol=1e-11)


def course(room, humidity, radius, emissivity, end):
    far = humidity * vapour(room)

    def rhs(_, y):
        r, t = y
        loss = D * (vapour(t) - far)
        heat = K * (room - t) + r * emissivity * SB * (room**4 - t**4) - H * loss
        return [-loss / (RHO * r), 3 * heat / (RHO * C * r * r)]
    return solve_ivp(rhs, (0, end), [radius, room], rtol=1e-11, atol=1e-13, dense_output=True, method="LSODA")


if __name__ == "__main__":
    for room, humidity, radius, eps in ((295.15, 0.4, 1e-3, 0.0), (295.15, 0.4, 1e-3, 0.95), (295.15, 0.4, 12e-3, 0.0), (295.15, 0.4, 12e-3, 0.95)):
        t = rest(room, humidity, radius, eps)
        s = course(room, humidity, radius, eps, 60.0 if radius < 2e-3 else 12000.0)
        aim = room + (t - room) * (1 - math.exp(-1))
        when = brentq(lambda q: s.sol(q)[1] - aim, 0, s.t[-1])
        print("room %g humidity %g radius %g emissivity %g: rests at %.10g, falls by 1-1/e in %.5g s" % (room, humidity, radius, eps, t, when))
    print("with 1 mW on 5 mm: %.10g" % rest(295.15, 0.4, 5e-3, 0.95, 1e-3))
    # radius at the temperature of rest, and life
    t = rest(295.15, 0.4, 1e-3, 0.0)
    slope = D * (vapour(t) - 0.4 * vapour(295.15)) / RHO
    s = solve_ivp(lambda _, y: [-slope / y[0]], (0, 600), [1e-3], rtol=1e-12, atol=1e-18)
    print("radius after 600 s: %.12g; difference of vapour %.12g" % (s.y[0, -1], vapour(t) - 0.4 * vapour(295.15)))
