using System.Collections.Immutable;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace CashEvents.Domain.Books;

/// <summary>
/// Which lines have been corrected, and by which. A line is corrected once; what was written in its stead may be
/// corrected in turn.
/// </summary>
[JsonConverter(typeof(AsList))]
public sealed class CorrectedLines
{
    private readonly ImmutableDictionary<long, (long Line, bool Undoes)> _by;
    private readonly ImmutableDictionary<long, long> _origins;

    private CorrectedLines(ImmutableDictionary<long, (long Line, bool Undoes)> by,
        ImmutableDictionary<long, long> origins) => (_by, _origins) = (by, origins);

    /// <summary>Nothing has been corrected.</summary>
    public static CorrectedLines None { get; } = new(ImmutableDictionary<long, (long Line, bool Undoes)>.Empty,
        ImmutableDictionary<long, long>.Empty);

    /// <summary>
    /// From stored lines that correct others, in order of their numbers; those that are reversals undo.
    /// </summary>
    public static CorrectedLines Of(IEnumerable<(long Line, long Corrects, bool Undoes)> lines) =>
        lines.Aggregate(None, (corrected, l) => corrected.With(l.Line, l.Corrects, l.Undoes));

    /// <summary>
    /// The reversal that undid a line, or for a reversal the first line that stands in the stead of what it undid; null
    /// while the line stands.
    /// </summary>
    public long? By(long line) => _by.TryGetValue(line, out var by) ? by.Line : null;

    /// <summary>The last of the lines that corrected a line, one the other: itself while it stands.</summary>
    public long Latest(long line) => By(line) is { } by ? Latest(by) : line;

    /// <summary>The first of the lines that a line corrects, one the other: itself when it corrects none.</summary>
    public long Origin(long line) => _origins.GetValueOrDefault(line, line);

    /// <summary>With one more line that corrects an earlier one.</summary>
    internal CorrectedLines With(long line, long corrects, bool undoes)
    {
        // What stands in the stead of a line that was undone stands in the stead of its reversal too, so that no second
        // line does.
        var corrected = _by.TryGetValue(corrects, out var by) && by.Undoes ? by.Line : corrects;
        return new CorrectedLines(_by.ContainsKey(corrected) ? _by : _by.Add(corrected, (line, undoes)),
            _origins.Add(line, Origin(corrects)));
    }

    /// <summary>What is known of the lines from one on.</summary>
    internal CorrectedLines From(long line) => new(
        _by.RemoveRange(_by.Where(b => b.Value.Line < line).Select(b => b.Key)),
        _origins.RemoveRange(_origins.Keys.Where(correcting => correcting < line)));

    private sealed class AsList : JsonConverter<CorrectedLines>
    {
        public override CorrectedLines Read(ref Utf8JsonReader reader, Type typeToConvert,
            JsonSerializerOptions options)
        {
            var written = JsonSerializer.Deserialize<Written>(ref reader, options)!;
            return new CorrectedLines(
                written.By.ToImmutableDictionary(by => by.Corrected, by => (by.Line, by.Undoes)), written.Origins);
        }

        public override void Write(Utf8JsonWriter writer, CorrectedLines value, JsonSerializerOptions options) =>
            JsonSerializer.Serialize(writer, new Written(
                [.. value._by.Select(by => new CorrectedBy(by.Key, by.Value.Line, by.Value.Undoes))], value._origins),
                options);
    }

    private sealed record CorrectedBy(long Corrected, long Line, bool Undoes);

    private sealed record Written(ImmutableArray<CorrectedBy> By, ImmutableDictionary<long, long> Origins);
}
