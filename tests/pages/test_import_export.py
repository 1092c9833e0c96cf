"""Job files on the page: all faults listed at once, nothing half-written, and the same file back."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.models import Customer, Order


@pytest.fixture
def job(shop):
    run = {"name": "front", "wall": "18'-0\"", "left": {"outside": 90}, "right": "cap"}
    line = {"kind": "moulding", "grade": "Light 1.0", "profile": "TP-14", "coat": "1/8", "runs": [run]}
    return {
        "format": "blockyard-job-1", "unit": "in", "customer": "Wickett Library Trustees", "job": "Porch",
        "lines": [{"mark": "A", **line}, {"mark": "B", **line}],
    }  # fmt: skip


def as_file(text):
    return SimpleUploadedFile("job.json", text.encode(), content_type="application/json")


def test_a_pasted_job_file_becomes_a_draft(office, job):
    answer = office.post("/orders/import/", {"text": json.dumps(job)})
    order = Order.objects.get()
    assert answer.headers["Location"] == f"/orders/{order.number}/"
    assert (order.state, order.lines.count(), order.customer.name) == ("draft", 2, "Wickett Library Trustees")


def test_an_uploaded_job_file_becomes_a_draft(office, job):
    office.post("/orders/import/", {"file": as_file(json.dumps(job))})
    assert Order.objects.get().job == "Porch"


def test_every_fault_is_listed_with_its_place_and_nothing_is_written(office, job, words):
    job["lines"][0]["runs"][0]["wall"] = "5..2"
    job["lines"][1]["grade"] = "Granite"
    answer = office.post("/orders/import/", {"text": json.dumps(job)})
    page = words(answer)
    assert answer.status_code == 422
    assert "Nothing was written. 2 faults" in page
    assert "lines[0].runs[0].wall" in page
    assert "lines[1].grade" in page
    assert not Order.objects.exists()
    assert not Customer.objects.filter(name=job["customer"]).exists()


def test_the_text_of_a_refused_file_comes_back_to_be_put_right(office, job):
    job["lines"][0]["grade"] = "Granite"
    answer = office.post("/orders/import/", {"file": as_file(json.dumps(job))})
    assert "Granite" in answer.context["form"]["text"].value()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({}, "Choose a job file, or paste its text"),
        ({"text": "not a job"}, "the file"),
        ({"file": SimpleUploadedFile("photo.jpg", b"\xff\xd8\xff\xe0")}, "not a text file"),
        ({"file": SimpleUploadedFile("big.json", b" " * 2_000_001)}, "larger than 2 MB"),
    ],
)
def test_what_is_no_job_file_is_refused(office, shop, words, data, said):
    answer = office.post("/orders/import/", data)
    assert answer.status_code == 422
    assert said in words(answer)


def test_an_order_is_saved_as_a_job_file_that_makes_the_same_order(office, draft):
    answer = office.get(f"/orders/{draft.number}/export/")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="order-{draft.number}.json"'
    office.post("/orders/import/", {"text": answer.content.decode()})
    copy = Order.objects.exclude(pk=draft.pk).get()
    assert copy.lines.get().spec == draft.lines.get().spec
