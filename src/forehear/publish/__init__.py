"""What leaves the house for people to read: the report, one self-contained page."""

from forehear.publish.report import report_page, write_report

__all__ = ["report_page", "write_report"]
