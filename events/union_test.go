package events_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// The union is closed by the embedded said; the compiler can't see whether each
// variant also has a line in the table of kinds, so this reads the source.
func TestEveryVariantHasADecoderAndAVector(t *testing.T) {
	variants := sourceOfEvents(t).variants()
	require.NotContains(t, variants, "Opaque", "Opaque has no kind of its own")
	require.NotContains(t, variants, "Unread", "nor has Unread")

	var kinds []events.Kind
	byKind := map[events.Kind]vector{}
	for _, v := range vectors() {
		require.NotContains(t, byKind, v.kind(), "two vectors of one kind")
		byKind[v.kind()] = v
	}
	for name, kind := range variants {
		kinds = append(kinds, kind)
		v, found := byKind[kind]
		require.True(t, found, "%s has no vector", name)
		for _, want := range v.payloads() {
			body, err := events.EncodeBody(want)
			require.NoError(t, err)
			got, err := events.DecodeBody(kind, body)
			require.NoError(t, err, "%s has no decoder", name)
			require.Equal(t, name, reflect.TypeOf(got).Name(), "%s decodes to another variant", kind)
		}
	}
	slices.Sort(kinds)
	require.Equal(t, events.Kinds(), kinds)
}

// records lists what applies whole, whatever moment is asked for.
func TestOnlyWhatIsSaidAboutTheLogIsARecord(t *testing.T) {
	want := []events.Kind{
		"clock.compared", "conflict.resolved", "event.voided", "feed.started", "member.admitted",
		"member.joined", "member.revoked", "settings.changed", "site.opened",
	}
	var got []events.Kind
	for _, k := range events.Kinds() {
		if k.IsRecord() {
			got = append(got, k)
		}
	}
	require.Equal(t, want, got)
	require.False(t, events.Kind("device.levitated").IsRecord(), "an unknown kind is never folded as a record")
}

func TestKindsAreWordsJoinedByADot(t *testing.T) {
	for _, k := range events.Kinds() {
		require.Regexp(t, `^[a-z]+\.[a-z]+$`, string(k))
	}
}

type source []*ast.File

func sourceOfEvents(t *testing.T) source {
	t.Helper()
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	var files source
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), e.Name(), nil, parser.SkipObjectResolution)
		require.NoError(t, err)
		files = append(files, f)
	}
	return files
}

// variants maps the name of every struct that embeds said, but Opaque and Unread, to
// what its Kind method returns.
func (s source) variants() map[string]events.Kind {
	found := map[string]events.Kind{}
	for _, f := range s {
		ast.Inspect(f, func(n ast.Node) bool {
			if spec, ok := n.(*ast.TypeSpec); ok && embedsSaid(spec) && spec.Name.Name != "Opaque" && spec.Name.Name != "Unread" {
				found[spec.Name.Name] = s.kindOf(spec.Name.Name)
			}
			return true
		})
	}
	return found
}

func embedsSaid(spec *ast.TypeSpec) bool {
	st, ok := spec.Type.(*ast.StructType)
	if !ok {
		return false
	}
	return slices.ContainsFunc(st.Fields.List, func(f *ast.Field) bool {
		id, ok := f.Type.(*ast.Ident)
		return ok && len(f.Names) == 0 && id.Name == "said"
	})
}

// kindOf is the literal that the type's Kind method returns.
func (s source) kindOf(typeName string) events.Kind {
	for _, f := range s {
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Name.Name != "Kind" || fn.Recv == nil {
				continue
			}
			if id, ok := fn.Recv.List[0].Type.(*ast.Ident); !ok || id.Name != typeName {
				continue
			}
			ret, ok := fn.Body.List[0].(*ast.ReturnStmt)
			if lit, isLit := ret.Results[0].(*ast.BasicLit); ok && isLit {
				kind, _ := strconv.Unquote(lit.Value)
				return events.Kind(kind)
			}
		}
	}
	return ""
}
