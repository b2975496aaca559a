WebApplication.CreateBuilder(args).Build().Run(); /// <summary>Entry</summary>
public partial class Program;
