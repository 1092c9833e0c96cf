from django.contrib.auth.decorators import login_not_required
from django.db import connection
from django.http import HttpResponse
from django.views.decorators.http import require_safe


@login_not_required
@require_safe
def healthz(request):
    """Answer “ok” when the database answers."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("ok", content_type="text/plain")
