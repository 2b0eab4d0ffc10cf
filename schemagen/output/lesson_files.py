"""The files of a lesson: a PDF for each paper and key, every sheet as SVG, slides as SVG and PNG, the score sheet."""

from schemagen.lessons.lesson import Lesson
from schemagen.output.as_png import encode as png_of
from schemagen.output.as_svg import svg_text
from schemagen.output.papers_pdf import papers_pdf

SLIDE_DPI = 116
"""Makes a slide of 420 mm 1918 dots wide, which fits a screen of 1920."""


def lesson_files(lesson: Lesson) -> dict[str, bytes]:
    """Contents by the names of the files. Raises CannotDraw without the typesetter."""
    files = {f"{paper.name}.pdf": papers_pdf([paper], f"{lesson.title}: {paper.title}") for paper in lesson.papers}
    files["score-sheet.csv"] = lesson.score.encode("utf-8-sig")
    files |= {f"sheets/{name}.svg": svg_text(sheet).encode() for name, sheet in lesson.sheets.items()}
    for name, slide in lesson.slides.items():
        files[f"slides/{name}.svg"] = svg_text(slide).encode()
        files[f"slides/{name}.png"] = png_of([slide], SLIDE_DPI)[0]
    return files
