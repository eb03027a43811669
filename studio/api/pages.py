"""Pages of a list, with a ceiling and with links to those beside them."""

from typing import Any

from rest_framework.pagination import PageNumberPagination
from rest_framework.response import Response


class Pages(PageNumberPagination):
    """So many rows at a time; the header ``Link`` says where the others are (RFC 8288)."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200

    def get_paginated_response(self, data: Any) -> Response:
        response = super().get_paginated_response(data)
        beside = (("next", self.get_next_link()), ("prev", self.get_previous_link()))
        links = [f'<{address}>; rel="{way}"' for way, address in beside if address]
        return Response(response.data, headers={"Link": ", ".join(links)} if links else None)

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """Describe a page: what all have, and the rows of this one."""
        rows = {"type": "object", "required": ["results"], "properties": {"results": schema}}
        return {"allOf": [{"$ref": "#/components/schemas/Page"}, rows]}
