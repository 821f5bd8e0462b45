"""The API's documentation page, from bundled files alone."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

router = APIRouter()
PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Clampbook: JSON API</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="/static/docs/swagger-ui.css">
</head>
<body>
<noscript>The description itself is at <a href="/api/openapi.json">/api/openapi.json</a>.</noscript>
<div id="docs" data-document="/api/openapi.json"></div>
<script src="/static/docs/swagger-ui-bundle.js"></script>
<script src="/static/docs/init.js"></script>
</body>
</html>
"""


@router.get("/docs")
def docs() -> HTMLResponse:
    return HTMLResponse(PAGE)
