"""Addresses of the workplace pages."""

from django.urls import path

from thenar.screens.workplace import areas, assessments, controls, counting, describing, duties

urlpatterns = [
    path("areas/", areas.areas, name="areas"),
    path("areas/<slug:ref>/", areas.area, name="area"),
    path("areas/<slug:ref>/count/", counting.count_shift, name="count_shift"),
    path("areas/<slug:ref>/count/sheet/", counting.tally_sheet, name="tally_sheet"),
    path("areas/<slug:ref>/count/phone/", counting.count_on_phone, name="count_on_phone"),
    path("areas/<slug:ref>/count/sync/", counting.sync_sessions, name="sync_sessions"),
    path("counting-worker.js", counting.counting_worker, name="counting_worker"),
    path("areas/<slug:ref>/describe/", describing.describe_work, name="describe_work"),
    path("areas/<slug:ref>/controls/", controls.compare_controls, name="compare_controls"),
    path("areas/<slug:ref>/assess/", assessments.assess_area, name="assess_area"),
    path("assessments/<slug:ref>/assessment.pdf", assessments.assessment_pdf, name="assessment_pdf"),
    path("areas/<slug:ref>/tasks/", duties.task_list, name="task_list"),
    path("cases/<slug:ref>/duties/", duties.find_duties, name="find_duties"),
    path("duties/<slug:ref>/", duties.duty_search, name="duty_search"),
]
