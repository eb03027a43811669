from collections import defaultdict
from decimal import Decimal
from math import log, pi

from django.db import migrations

ML_PER_MM2 = 29.5735295625 / 25 / 645.16  # 1 fl oz on 25 in²
MOST = 500


def fill(apps, schema_editor):
    """Write what the plain rules would have said of the pours that are there, as of their day."""
    for studio in apps.get_model("studio", "Studio").objects.iterator():
        _fill(apps, studio)


def _fill(apps, studio):
    pours, layers = (apps.get_model("pricing", name).objects for name in ("Pour", "PourLayer"))
    of_pour = defaultdict(list)
    for layer in layers.filter(pour__studio=studio).order_by("pk"):
        of_pour[layer.pour_id].append(layer)
    rows = apps.get_model("pricing", "SavedSurface").objects.filter(studio=studio)
    areas = {row.pk: area for row in rows if (area := _wetted_mm2(row))}
    films = defaultdict(dict)  # of each technique's layer: by surface, what the latest pour of it took
    changed = []
    ordered = pours.filter(studio=studio).select_related("entry__reversed_by")
    for pour in ordered.order_by("poured_at", "pk"):
        area = areas.get(pour.surface_id)
        if area is None:
            continue
        pour.rule_ml = _ml(area * ML_PER_MM2 * pour.count)
        for layer in of_pour[pour.pk]:
            seen = films[pour.technique_id, layer.layer]
            if seen:
                layer.scaled_ml = _ml(_nearest(seen, areas, area) * area * pour.count)
        changed.append(pour)
        if pour.set_aside or hasattr(pour.entry, "reversed_by"):
            continue
        for layer in of_pour[pour.pk]:
            poured = float(layer.mixed_ml - layer.left_ml) / pour.count
            seen = films[pour.technique_id, layer.layer]
            seen.pop(pour.surface_id, None)  # the latest stands last
            seen[pour.surface_id] = poured / area
    pours.bulk_update(changed, ["rule_ml"], batch_size=MOST)
    told = [one for pour in changed for one in of_pour[pour.pk] if one.scaled_ml is not None]
    layers.bulk_update(told, ["scaled_ml"], batch_size=MOST)


def _nearest(seen, areas, area):
    """Return the film of the surface nearest in size; of those equally near, the latest's."""
    away = {key: abs(log(areas[key] / area)) for key in seen}
    least = min(away.values())
    return [film for key, film in seen.items() if away[key] <= least + 2e-9][-1]


def _ml(volume):
    return round(Decimal(str(volume)), 3)


def _wetted_mm2(row):
    """Face and painted sides of a rectangle or a circle; other shapes are few and stay without."""
    width, height, depth = (float(one) for one in (row.width_mm, row.height_mm, row.depth_mm))
    edges = {"top": width, "bottom": width, "left": height, "right": height}
    painted = {"all": list(edges), "none": []}.get(
        row.sides_painted.strip().lower(),
        [one.strip().lower() for one in row.sides_painted.split(",")],
    )
    if row.shape == "rectangle" and edges.keys() >= set(painted):
        return width * height + depth * sum(edges[one] for one in painted) or None
    if row.shape == "circle" and row.sides_painted in ("all", "none"):
        return pi * width * (width / 4 + depth * (row.sides_painted == "all")) or None
    return None


class Migration(migrations.Migration):

    dependencies = [
        ("pricing", "0014_bases_and_rules"),
    ]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
