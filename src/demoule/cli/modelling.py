"""`demoule models`: every model with its source, range and measured error."""

from __future__ import annotations

import json
import sys

__all__ = ["list_models"]


def list_models(*, as_json: bool) -> int:
    """Print every model; those without independent points say so, in red on a terminal."""
    from demoule.answers import model_reports

    reports = model_reports()
    if as_json:
        print(
            json.dumps(
                [
                    {
                        "model": report.model.name,
                        "gives": report.model.gives,
                        "source": report.model.source,
                        "status": str(report.model.status),
                        "valid": report.model.valid,
                        "error": report.model.error,
                        "independent_points": report.points,
                        "evidence": [
                            {
                                "title": e.title,
                                "source": e.source,
                                "status": str(e.status),
                                "points": len(e.published),
                                "unit": "1" if e.relative else e.unit,
                                "worst": e.worst,
                                "typical": e.typical,
                                "tolerance": e.tolerance,
                                "relative": e.relative,
                            }
                            for e in report.evidence
                        ],
                    }
                    for report in reports
                ],
                ensure_ascii=False,
            )
        )
        return 0
    red, plain = ("\x1b[31m", "\x1b[0m") if sys.stdout.isatty() else ("", "")
    for report in reports:
        model = report.model
        print(f"{model.name}: {model.gives}")
        print(f"  source {model.source} ({model.status}); range: {model.valid}; stated error: {model.error}")
        for e in report.evidence:
            worst, typical = (
                (f"{e.worst:.2%}", f"{e.typical:.2%}")
                if e.relative
                else (f"{e.worst:.3g} {e.unit}", f"{e.typical:.3g} {e.unit}")
            )
            print(f"  {e.title}: {len(e.published)} points ({e.status}, {e.source}), worst {worst}, typical {typical}")
        if not report.independent:
            print(f"  {red}No independent published point stands against this model.{plain}")
    return 0
