"""Judges the output of `portgraph`, or of any other engine in the same form, from the files alone.

Run: python3 tests/measure/portgraph.py GRAPH.json DRAWING.json [PITCH]
Prints one line a measure. Exits 1 where a fault that must not be was found.
"""

import json
import sys

EPS = 1e-6
SIDES = "NESW"


def place(node, port, at):
    """Side and point of a port of a node mirrored first, then turned clockwise."""
    w, h = node["w"], node["h"]
    side = SIDES.index(port["side"])
    off = port.get("off", (h if side % 2 else w) / 2)
    x, y = [(off, 0), (w, off), (off, h), (0, off)][side]
    if "x" in at["mirror"]:
        x = w - x
        side = (4 - side) % 4
    if "y" in at["mirror"]:
        y = h - y
        side = (6 - side) % 4
    for _ in range(at["turn"] // 90):
        x, y, w, h = h - y, x, h, w
        side = (side + 1) % 4
    return side, (at["x"] + x, at["y"] + y)


def merged(route):
    out = []
    for p in route:
        p = (p[0], p[1])
        if out and abs(out[-1][0] - p[0]) < EPS and abs(out[-1][1] - p[1]) < EPS:
            continue
        if len(out) > 1:
            a, b = out[-2], out[-1]
            for k in (0, 1):
                flat = abs(a[k] - b[k]) < EPS and abs(b[k] - p[k]) < EPS
                if flat and (b[1 - k] - a[1 - k]) * (p[1 - k] - b[1 - k]) > 0:
                    out.pop()
                    break
        out.append(p)
    return out


def measure(graph, drawing, pitch):
    nodes = {n["id"]: n for n in graph["nodes"]}
    at = drawing["nodes"]
    hard = dict.fromkeys(
        [
            "missing", "symbol_overlaps", "closer_than_spacing", "through_symbol", "end_off_port",
            "wrong_side", "collinear", "closer_than_pitch", "touches", "slanting",
        ],
        0,
    )
    soft = dict.fromkeys(["crossings", "bends", "length", "facing", "straight"], 0)
    hard["missing"] = sum(i not in at for i in nodes)
    hard["missing"] += sum(e["id"] not in drawing["edges"] for e in graph["edges"])
    if hard["missing"]:
        return hard, soft
    spacing = graph.get("spacing", 10)
    boxes = sorted((v["x"], v["y"], v["x"] + v["w"], v["y"] + v["h"], i) for i, v in at.items())
    for n, a in enumerate(boxes):
        for b in boxes[n + 1 :]:
            if b[0] >= a[2] + spacing - EPS:
                break
            dx, dy = b[0] - a[2], max(b[1] - a[3], a[1] - b[3])
            if dx < -EPS and dy < -EPS:
                hard["symbol_overlaps"] += 1
            elif dx < spacing - EPS and dy < spacing - EPS:
                hard["closer_than_spacing"] += 1
    net = {}

    def root(k):
        while net.setdefault(k, k) != k:
            k = net[k]
        return k

    for e in graph["edges"]:
        net[root(e["from"])] = root(e["to"])
    across, down = [], []
    widest = max((b[2] - b[0] for b in boxes), default=0)
    for e in graph["edges"]:
        route = merged(drawing["edges"][e["id"]])
        ends = []
        for text in (e["from"], e["to"]):
            for cut in [k for k, c in enumerate(text) if c == "."]:
                node = nodes.get(text[:cut])
                port = node and next((p for p in node["ports"] if p["id"] == text[cut + 1 :]), None)
                if port:
                    ends.append(place(node, port, at[text[:cut]]))
                    break
        steps = [(0, -1), (1, 0), (0, 1), (-1, 0)]
        for (side, p), q, r in ((ends[0], route[0], route[1:2]), (ends[1], route[-1], route[-2:-1])):
            if abs(p[0] - q[0]) > EPS or abs(p[1] - q[1]) > EPS:
                hard["end_off_port"] += 1
            for r in r:
                d = (r[0] - q[0], r[1] - q[1])
                s = steps[side]
                if d[0] * s[0] + d[1] * s[1] < EPS:
                    hard["wrong_side"] += 1
        soft["bends"] += max(0, len(route) - 2)
        s = steps[ends[0][0]]
        (ax, ay), (bx, by) = ends[0][1], ends[1][1]
        if (ends[0][0] + 2) % 4 == ends[1][0] and (bx - ax) * s[0] + (by - ay) * s[1] > 0:
            soft["facing"] += 1
            soft["straight"] += len(route) == 2
        for a, b in zip(route, route[1:]):
            soft["length"] += abs(a[0] - b[0]) + abs(a[1] - b[1])
            x0, x1 = sorted((a[0], b[0]))
            y0, y1 = sorted((a[1], b[1]))
            if y1 - y0 < EPS:
                across.append((y0, x0, x1, e["id"], root(e["from"])))
            elif x1 - x0 < EPS:
                down.append((x0, y0, y1, e["id"], root(e["from"])))
            else:
                hard["slanting"] += 1
            for box in boxes:
                if box[0] > x1:
                    break
                if box[0] + widest < x0:
                    continue
                inside = x0 < box[2] - EPS and box[0] < x1 - EPS
                inside = inside and y0 < box[3] - EPS and box[1] < y1 - EPS
                if x1 - x0 < EPS:
                    inside = box[0] + EPS < x0 < box[2] - EPS and y0 < box[3] - EPS and box[1] < y1 - EPS
                if y1 - y0 < EPS:
                    inside = box[1] + EPS < y0 < box[3] - EPS and x0 < box[2] - EPS and box[0] < x1 - EPS
                hard["through_symbol"] += inside
    for lines in (across, down):
        lines.sort()
        for n, a in enumerate(lines):
            for b in lines[n + 1 :]:
                if b[0] - a[0] > pitch - EPS:
                    break
                if a[4] == b[4] or a[1] >= b[2] - EPS or b[1] >= a[2] - EPS:
                    continue
                hard["collinear" if b[0] - a[0] < EPS else "closer_than_pitch"] += 1
    for h in across:
        for v in down:
            if v[0] > h[2] + EPS:
                break
            if v[0] < h[1] - EPS or h[0] < v[1] - EPS or h[0] > v[2] + EPS:
                continue
            within = h[1] + EPS < v[0] < h[2] - EPS and v[1] + EPS < h[0] < v[2] - EPS
            if h[4] != v[4]:
                if within:
                    soft["crossings"] += 1
                else:
                    hard["touches"] += 1
            elif h[3] == v[3] and within:
                soft["crossings"] += 1
    points = [p for r in drawing["edges"].values() for p in r]
    points += [(b[0], b[1]) for b in boxes] + [(b[2], b[3]) for b in boxes]
    if points:
        soft["width"] = max(p[0] for p in points) - min(p[0] for p in points)
        soft["height"] = max(p[1] for p in points) - min(p[1] for p in points)
    return hard, soft


def main():
    if len(sys.argv) not in (3, 4):
        sys.exit("usage: portgraph.py GRAPH.json DRAWING.json [PITCH]")
    with open(sys.argv[1]) as f:
        graph = json.load(f)
    with open(sys.argv[2]) as f:
        drawing = json.load(f)
    pitch = float(sys.argv[3]) if len(sys.argv) == 4 else graph.get("spacing", 10) / 2
    hard, soft = measure(graph, drawing, pitch)
    for name, value in list(hard.items()) + list(soft.items()):
        print(f"{name} {value:g}")
    for name in ("crossings", "bends"):
        if name in drawing and drawing[name] != soft[name]:
            print(f"reported_{name} {drawing[name]}")
    sys.exit(1 if any(hard.values()) else 0)


if __name__ == "__main__":
    main()
