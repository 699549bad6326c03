"""The server against what several editors say of themselves.

pip install pytest-lsp; TESTLAMP=target/debug/testlamp pytest tests/editor/test_clients.py
"""

import os
import pathlib

import pytest
import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = str(ROOT / os.environ.get("TESTLAMP", "target/debug/testlamp"))
EDITORS = ["visual-studio-code", "neovim", "emacs"]


@pytest_lsp.fixture(params=EDITORS, config=ClientServerConfig(server_command=[PROGRAM, "language-server"]))
async def client(request, lsp_client: LanguageClient):
    @lsp_client.feature(types.CLIENT_REGISTER_CAPABILITY)
    def watch(params):
        assert params.registrations[0].method == types.WORKSPACE_DID_CHANGE_WATCHED_FILES

    @lsp_client.feature(types.WORKSPACE_INLAY_HINT_REFRESH)
    def refresh(params):
        return None

    capabilities = client_capabilities(request.param)
    answer = await lsp_client.initialize_session(types.InitializeParams(capabilities=capabilities))
    assert answer.server_info.name == "testlamp"
    yield
    await lsp_client.shutdown_session()


@pytest.mark.asyncio
async def test_every_kind_of_request_is_answered_in_the_shape_of_the_protocol(client: LanguageClient):
    path = ROOT / "examples/jobs/j-2047-fuse-far-firewall-open.yaml"
    uri, text = path.as_uri(), path.read_text(encoding="utf-8")
    item = types.TextDocumentItem(uri, "yaml", 1, text)
    client.text_document_did_open(types.DidOpenTextDocumentParams(item))
    await client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    told = client.diagnostics[uri]
    fuse = next(one for one in told if one.code == "FUSE-02")

    document, place = types.TextDocumentIdentifier(uri), fuse.range.start
    hover = await client.text_document_hover_async(types.HoverParams(document, place))
    assert "FUSE-02" in hover.contents.value
    context = types.CodeActionContext(told)
    actions = await client.text_document_code_action_async(types.CodeActionParams(document, fuse.range, context))
    assert any("45 cm" in action.title for action in actions)
    offered = await client.text_document_completion_async(types.CompletionParams(document, place))
    assert [one.label for one in offered.items] == ["5.2 m"], "an example, where nothing is typed yet"
    assert await client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
    assert await client.text_document_folding_range_async(types.FoldingRangeParams(document))
    everywhere = types.Range(types.Position(0, 0), types.Position(9999, 0))
    assert await client.text_document_inlay_hint_async(types.InlayHintParams(document, everywhere))

    line = next(at for at, words in enumerate(text.splitlines()) if words.startswith("  bass-amp:"))
    name = types.Position(line, 3)
    own = types.ReferenceContext(include_declaration=True)
    places = await client.text_document_references_async(types.ReferenceParams(own, document, name))
    assert len(places) == text.count("bass-amp")
    assert await client.text_document_definition_async(types.DefinitionParams(document, name))
    assert await client.text_document_prepare_rename_async(types.PrepareRenameParams(document, name))
    edit = await client.text_document_rename_async(types.RenameParams(document, name, "low"))
    edits = edit.document_changes[0].edits if edit.document_changes else edit.changes[uri]
    assert len(edits) == len(places)


@pytest.mark.asyncio
async def test_house_files_and_shelves_are_answered_in_the_shape_of_the_protocol(client: LanguageClient):
    for name, words in [("house.yaml", "fixing-distance"), ("shelf/gear.yaml", "mono-500-lab")]:
        path = ROOT / "examples" / name
        uri, text = path.as_uri(), path.read_text(encoding="utf-8")
        item = types.TextDocumentItem(uri, "yaml", 1, text)
        client.text_document_did_open(types.DidOpenTextDocumentParams(item))
        # The house is told of again when one of its shelves is opened.
        while uri not in client.diagnostics:
            await client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        assert not client.diagnostics[uri]
        line = next(at for at, written in enumerate(text.splitlines()) if words in written)
        document, place = types.TextDocumentIdentifier(uri), types.Position(line, 4)
        assert (await client.text_document_completion_async(types.CompletionParams(document, place))).items is not None
        assert await client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
        assert await client.text_document_folding_range_async(types.FoldingRangeParams(document))
        reference = types.Position(line + 1, 14)
        if name == "house.yaml":
            hover = await client.text_document_hover_async(types.HoverParams(document, place))
            assert "testlamp ships" in hover.contents.value
            shelves = next(at for at, written in enumerate(text.splitlines()) if written.startswith("shelves:"))
            reference = types.Position(shelves, 12)
        there = await client.text_document_definition_async(types.DefinitionParams(document, reference))
        assert there.uri == (ROOT / "examples/shelf/gear.yaml").as_uri()
